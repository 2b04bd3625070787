//! What the server refuses, and what it survives.

use super::client::Desk;
use linewake_tests::command_line::TestFolder;
use linewake_tests::model_text;
use serde_json::json;
use std::io::{Read, Write};
use std::time::{Duration, Instant};

fn study(shifts: u64) -> serde_json::Value {
    json!({
        "name": "a.json", "text": model_text("alder-hill-mince"), "pinned": null,
        "wanted": { "shifts": shifts, "seed": 1, "start": "new_rolls" },
    })
}

#[test]
fn only_the_own_page_at_the_own_address_is_answered() {
    let desk = Desk::models();
    let cookie = format!("Cookie: linewake-{}={}\r\n", desk.port, desk.token);
    let status = |headers: &str, target: &str| desk.request("GET", target, headers, "").status;
    let host = format!("Host: 127.0.0.1:{}\r\n", desk.port);
    assert_eq!(status(&format!("{host}{cookie}"), "/"), 200);
    assert_eq!(status(&format!("Host: evil.example:{}\r\n{cookie}", desk.port), "/"), 421);
    assert_eq!(status(&format!("Host: 127.0.0.1\r\n{cookie}"), "/"), 421);
    assert_eq!(status(&format!("{host}{cookie}Origin: http://evil.example\r\n"), "/"), 403);
    assert_eq!(status(&format!("{host}{cookie}Sec-Fetch-Site: cross-site\r\n"), "/"), 403);
    assert_eq!(status(&host, "/"), 401);
    assert_eq!(status(&host, "/?token=00000000000000000000000000000000"), 401);
    // A form of another page can post, but has neither our header nor, since the cookie is SameSite=Strict, the cookie.
    let post = |headers: &str| desk.request("POST", "/api/edit", headers, "{}").status;
    assert_eq!(post(&format!("{host}{cookie}")), 403);
    assert_eq!(post(&format!("{host}{cookie}X-Linewake: x\r\nOrigin: null\r\n")), 403);
    assert_eq!(post(&format!("{host}{cookie}X-Linewake: x\r\n")), 400);
}

#[test]
fn the_token_becomes_a_cookie_and_leaves_the_address() {
    let desk = Desk::models();
    let host = format!("Host: localhost:{}\r\n", desk.port);
    let reply = desk.request("GET", &format!("/?token={}", desk.token), &host, "");
    assert_eq!(reply.status, 303);
    let head = reply.head.to_ascii_lowercase();
    assert!(head.contains("location: /\r\n"), "{head}");
    assert!(head.contains("httponly; samesite=strict"), "{head}");
}

#[test]
fn answers_carry_a_strict_policy_and_name_no_other_place() {
    let desk = Desk::models();
    for target in ["/", "/desk.js", "/api/models", "/nothing"] {
        let head = desk.get(target).head.to_ascii_lowercase();
        assert!(head.contains("content-security-policy: default-src 'none'; script-src 'self'"), "{head}");
        assert!(!head.contains("unsafe-inline") && !head.contains("access-control-allow"), "{head}");
        for header in
            ["x-content-type-options: nosniff", "referrer-policy: no-referrer", "cache-control: no-store"]
        {
            assert!(head.contains(header), "{target}: {header}");
        }
    }
}

#[test]
fn no_path_leads_out_of_the_folder() {
    let folder = TestFolder::new();
    let models = folder.path().join("models");
    std::fs::create_dir(&models).expect("a folder");
    std::fs::write(models.join("a.json"), "{}").expect("a file");
    std::fs::write(folder.path().join("secret.json"), "secret").expect("a file");
    #[cfg(unix)]
    std::os::unix::fs::symlink(folder.path().join("secret.json"), models.join("link.json")).expect("a link");
    let desk = Desk::serve(&models);
    assert_eq!(desk.get("/api/models").json()["models"], json!(["a.json"]));
    let outside = folder.path().join("secret.json").display().to_string();
    for name in ["../secret.json", "link.json", "..%2fsecret.json", "./a.json", outside.as_str(), ""] {
        let reply = desk.post("/api/open", &json!({ "name": name }));
        assert_eq!(reply.status, 404, "{name}");
        assert!(!reply.body.contains("secret\""), "{reply:?}");
    }
    for target in
        ["/../secret.json", "/a/../../secret.json", "/models/a.json", "/%2e%2e/secret.json", "//etc/passwd"]
    {
        assert_eq!(desk.get(target).status, 404, "{target}");
    }
    let new = format!("{}If-None-Match: *\r\n", desk.ours());
    for name in ["../new.json", "link.json", "new.txt", ".new.json"] {
        let body = json!({ "name": name, "text": "{}" }).to_string();
        let status = desk.request("POST", "/api/save", &new, &body).status;
        assert!(matches!(status, 412 | 422), "{name}: {status}");
    }
    assert_eq!(std::fs::read_to_string(folder.path().join("secret.json")).expect("untouched"), "secret");
    assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 2);
}

#[test]
fn a_file_is_replaced_only_by_who_has_seen_it() {
    let folder = TestFolder::new();
    std::fs::write(folder.path().join("a.json"), "{}").expect("a file");
    let desk = Desk::serve(folder.path());
    let save = |name: &str, text: &str, header: &str| {
        let headers = format!("{}{header}", desk.ours());
        desk.request("POST", "/api/save", &headers, &json!({ "name": name, "text": text }).to_string())
    };
    assert_eq!(save("a.json", "{ }", "").status, 428);
    assert_eq!(save("a.json", "{ }", "If-None-Match: *\r\n").status, 412);
    assert_eq!(save("a.json", "{ }", "If-Match: \"00\"\r\n").status, 412);
    let hash = desk.post("/api/open", &json!({ "name": "a.json" })).json()["hash"]
        .as_str()
        .expect("a hash")
        .to_owned();
    // Somebody else writes it meanwhile.
    std::fs::write(folder.path().join("a.json"), "{\"other\": 1}").expect("a file");
    assert_eq!(save("a.json", "{ }", &format!("If-Match: \"{hash}\"\r\n")).status, 412);
    std::fs::write(folder.path().join("a.json"), "{}").expect("a file");
    assert_eq!(save("a.json", "{ }", &format!("If-Match: \"{hash}\"\r\n")).status, 200);
    assert_eq!(std::fs::read_to_string(folder.path().join("a.json")).expect("the file"), "{ }");
    assert_eq!(save("b.json", "{}", "If-None-Match: *\r\n").status, 200);
    assert_eq!(desk.get("/api/models").json()["models"], json!(["a.json", "b.json"]));
}

#[test]
fn bodies_that_are_too_large_are_refused() {
    let desk = Desk::models();
    // The stated length is enough: the body need not be sent.
    let head = |length: u64| {
        format!(
            "POST /api/edit HTTP/1.1\r\n{}Connection: close\r\nContent-Length: {length}\r\n\r\n",
            desk.ours()
        )
    };
    for length in [(3 << 20) + 1, 4 << 30] {
        assert_eq!(desk.raw(head(length).as_bytes()).status, 413, "{length}");
    }
    // The same in chunks, which state no length.
    let chunk = format!("{:x}\r\n{}\r\n", 1 << 20, "x".repeat(1 << 20));
    let mut request = format!(
        "POST /api/edit HTTP/1.1\r\n{}Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n",
        desk.ours()
    );
    for _ in 0..4 {
        request.push_str(&chunk);
    }
    request.push_str("0\r\n\r\n");
    let status = desk.raw(request.as_bytes()).status;
    assert!(matches!(status, 413 | 0), "{status}");
    assert_eq!(desk.get("/").status, 200);
}

#[test]
fn nonsense_is_answered_in_words() {
    let desk = Desk::models();
    for (target, body) in [
        ("/api/edit", json!({ "text": 1 })),
        ("/api/study", json!({})),
        ("/api/open", json!({ "name": "a", "path": "b" })),
        ("/api/report", json!([])),
    ] {
        let reply = desk.post(target, &body);
        assert_eq!(reply.status, 400, "{target}");
        assert!(reply.json()["error"].as_str().is_some_and(|error| !error.is_empty()));
    }
    for wanted in [
        json!({ "shifts": 1, "seed": 1, "start": "new_rolls" }),
        json!({ "shifts": 1_000_000, "seed": 1, "start": "new_rolls" }),
    ] {
        let mut body = study(2);
        body["wanted"] = wanted;
        assert_eq!(desk.post("/api/study", &body).status, 422);
    }
    assert_eq!(desk.raw(b"\x16\x03\x01 no HTTP\r\n\r\n").status, 400);
    assert_eq!(desk.get("/").status, 200);
}

/// 200 at once, a fifth of which want shifts run: each is answered, or told that too much is being run.
#[test]
fn two_hundred_requests_at_once() {
    let desk = Desk::models();
    let text = model_text("merrow-three-machines");
    let study = json!({ "name": "a", "text": text, "pinned": null, "wanted": { "shifts": 2, "seed": 1, "start": "new_rolls" } });
    let edit = json!({ "name": "a", "text": text, "set": [] });
    let outcomes: Vec<(usize, u16, bool)> = std::thread::scope(|scope| {
        let asked: Vec<_> = (0..200)
            .map(|number| {
                let (desk, study, edit) = (&desk, &study, &edit);
                scope.spawn(move || match number % 5 {
                    0 => {
                        // Each from a page of its own: of one page only the last one runs.
                        let headers =
                            desk.ours().replace("X-Linewake: test", &format!("X-Linewake: page {number}"));
                        let reply = desk.request("POST", "/api/study", &headers, &study.to_string());
                        let is_told =
                            reply.body.contains("event: figures") || reply.body.contains("event: busy");
                        (number, reply.status, is_told)
                    }
                    1 | 2 => (number, desk.post("/api/edit", edit).status, true),
                    3 => (number, desk.get("/desk.js").status, true),
                    _ => (number, desk.get("/").status, true),
                })
            })
            .collect();
        asked.into_iter().map(|it| it.join().expect("no panic")).collect()
    });
    let bad: Vec<_> = outcomes.iter().filter(|(_, status, is_told)| *status != 200 || !is_told).collect();
    assert!(bad.is_empty(), "{bad:?}");
    assert_eq!(desk.get("/").status, 200);
}

/// Waits until nothing is being run; the limit is only there so that a defect fails instead of hanging.
fn until_idle(desk: &Desk) {
    let began = Instant::now();
    while desk.get("/api/status").json()["running"] != 0 {
        assert!(began.elapsed() < Duration::from_secs(60), "the work goes on");
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// 5,000 shifts are minutes of work. The client reads a little and goes away: the work ends.
#[test]
fn a_client_that_goes_away_ends_its_work() {
    let desk = Desk::models();
    let body = study(5_000).to_string();
    let mut stream = desk.connect();
    let request =
        format!("POST /api/study HTTP/1.1\r\n{}Content-Length: {}\r\n\r\n{body}", desk.ours(), body.len());
    stream.write_all(request.as_bytes()).expect("the server takes it");
    let mut some = [0; 200];
    stream.read_exact(&mut some).expect("it begins");
    // The head of the answer may come before the first shift begins.
    while desk.get("/api/status").json()["running"] == 0 {
        std::thread::sleep(Duration::from_millis(5));
    }
    drop(stream);
    until_idle(&desk);
    // The next one is answered.
    assert_eq!(desk.post("/api/study", &study(2)).events("figures").last().expect("figures")["done"], 2);
}

/// Of one page, a new study ends the one before it.
#[test]
fn a_new_study_of_a_page_ends_its_last_one() {
    let desk = Desk::models();
    let first = std::thread::scope(|scope| {
        let first = scope.spawn(|| desk.post("/api/study", &study(5_000)));
        while desk.get("/api/status").json()["running"] == 0 {
            std::thread::sleep(Duration::from_millis(5));
        }
        let second = desk.post("/api/study", &study(2));
        assert_eq!(second.events("figures").last().expect("figures")["is_final"], true);
        first.join().expect("no panic")
    });
    assert_eq!(first.events("ended").len(), 1, "{:?}", first.head);
}

/// A server that is stopped in the middle of a study ends at once.
#[test]
fn stopping_the_server_ends_its_work() {
    let desk = Desk::models();
    let body = study(5_000).to_string();
    let mut stream = desk.connect();
    let request =
        format!("POST /api/study HTTP/1.1\r\n{}Content-Length: {}\r\n\r\n{body}", desk.ours(), body.len());
    stream.write_all(request.as_bytes()).expect("the server takes it");
    stream.read_exact(&mut [0; 200]).expect("it begins");
    let port = desk.port;
    drop(desk);
    assert!(std::net::TcpListener::bind(("127.0.0.1", port)).is_ok(), "the port is free again");
}
