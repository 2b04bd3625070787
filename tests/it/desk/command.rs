//! `linewake serve` as a command: its address, its end, and what it cannot do.

use linewake_cli::exit::Exit;
use linewake_tests::command_line::TestFolder;
use linewake_tests::workspace_root;
use std::sync::atomic::AtomicBool;

/// Runs `linewake serve`, told to stop before it begins.
fn serve(arguments: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = ["linewake", "serve"].iter().chain(arguments);
    let exit = linewake_cli::run_until(all, &mut out, &mut err, &AtomicBool::new(true));
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    (exit, text(out), text(err))
}

#[test]
fn it_prints_its_address_and_ends_when_told() {
    let models = workspace_root().join("models").display().to_string();
    let (exit, out, err) = serve(&[&models]);
    assert_eq!(exit, Exit::Done);
    let (address, token) = out.trim().split_once("/?token=").expect("an address");
    assert!(address.starts_with("http://127.0.0.1:") && token.len() == 32, "{out}");
    assert!(err.contains("Ctrl-C"));
    let one = format!("{models}/tern-quay-fish.json");
    assert_eq!(serve(&[&one, "--quiet"]).0, Exit::Done);
}

#[test]
fn what_it_cannot_have_it_names() {
    let folder = TestFolder::new();
    let (exit, _, err) = serve(&[&folder.of("nothing")]);
    assert_eq!(exit, Exit::Failed);
    assert!(err.contains("nothing cannot be opened") && err.contains("folder of model files"), "{err}");
    let taken = std::net::TcpListener::bind(("127.0.0.1", 0)).expect("a port");
    let port = taken.local_addr().expect("an address").port().to_string();
    let (exit, _, err) = serve(&[&folder.path().display().to_string(), "--port", &port]);
    assert_eq!(exit, Exit::Failed);
    assert!(err.contains(&format!("port {port} cannot be had")), "{err}");
}
