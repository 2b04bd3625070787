//! The script of the page and its data, so that nothing but them can run in it.

use linewake_replay::Replay;
use sha2::{Digest, Sha256};

/// Puts the picture into the page; the module's own code stands before it.
const START: &str = "\nconst place = document.getElementById('replay');\n\
    const data = JSON.parse(document.getElementById('replay-data').textContent);\n\
    const still = place.firstElementChild;\n\
    const stage = document.createElement('div');\n\
    place.replaceChildren(stage);\n\
    const mounted = mount(stage, data);\n\
    still.className = 'replay-print';\n\
    place.append(still);\n\
    window.linewakeReplay = { ...mounted, placesAt: (t_us) => placesAt(data, t_us), data };\n";

/// The script: the module of the picture, and its start.
pub(super) fn script() -> String {
    format!("{}{START}", linewake_replay::script::module())
}

/// The element with the data.
pub(super) fn data(replay: &Replay) -> String {
    // "<" cannot close the element, nor open a comment in it.
    let json = serde_json::to_string(replay).unwrap_or_default().replace('<', "\\u003c");
    format!(r#"<script type="application/json" id="replay-data">{json}</script>"#)
}

/// What a content security policy names a script by: `sha256-...`.
pub(crate) fn policy_hash(script: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(script.as_bytes())))
}

/// Base64 of RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for group in bytes.chunks(3) {
        let value =
            group.iter().fold(0_u32, |value, byte| value << 8 | u32::from(*byte)) << (8 * (3 - group.len()));
        for place in 0..4 {
            let letter = LETTERS[(value >> (18 - 6 * place) & 63) as usize];
            text.push(if place <= group.len() { char::from(letter) } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_standard() {
        let cases = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (plain, coded) in cases {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    /// SHA-256 of "abc": FIPS 180-2, appendix B.1.
    #[test]
    fn a_policy_names_a_script_by_its_hash() {
        assert_eq!(policy_hash("abc"), "'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='");
    }
}
