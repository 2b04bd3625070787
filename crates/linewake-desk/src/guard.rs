//! What is looked at on every request before anything else is done: whether it comes from the page that we served, to the
//! address that we serve at.
//!
//! A page of somebody else in the same browser can send requests to the loopback interface. It cannot send our token, since
//! the cookie is `SameSite=Strict`; and a name of its own that it points here (DNS rebinding) shows in `Host`.

use axum::body::Body;
use axum::http::header::{COOKIE, HOST, ORIGIN};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, Request, StatusCode};
use sha2::{Digest, Sha256};

/// Name of the cookie with the token.
const COOKIE_NAME: &str = "linewake";
/// The header that a form of another page cannot send.
pub(crate) const OUR_HEADER: HeaderName = HeaderName::from_static("x-linewake");
/// How the browser says from where a request comes.
const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// What a page may do: load its own files and talk to its own server, nothing else.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// A token of 128 bits, in hexadecimal.
#[derive(Clone)]
pub(crate) struct Token(String);

impl Token {
    /// Draws a token from the machine's entropy.
    ///
    /// # Errors
    /// In words, if the machine gives none.
    pub(crate) fn draw() -> Result<Self, String> {
        let mut bytes = [0_u8; 16];
        getrandom::fill(&mut bytes).map_err(|error| format!("the machine gave no entropy: {error}"))?;
        Ok(Self(bytes.iter().map(|byte| format!("{byte:02x}")).collect()))
    }

    /// As it stands in the address that is printed.
    pub(crate) fn text(&self) -> &str {
        &self.0
    }

    /// Whether that is the token. Digests are compared, so that the time taken says nothing of the token.
    fn is(&self, typed: &str) -> bool {
        Sha256::digest(typed.as_bytes()) == Sha256::digest(self.0.as_bytes())
    }
}

/// A request that is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Refusal {
    /// Status.
    pub(crate) status: StatusCode,
    /// Why, for whoever reads the answer.
    pub(crate) why: &'static str,
}

const fn refusal(status: StatusCode, why: &'static str) -> Refusal {
    Refusal { status, why }
}

/// Which requests come from our own page.
#[derive(Clone)]
pub(crate) struct Guard {
    port: u16,
    token: Token,
}

impl Guard {
    /// For a server at that port.
    pub(crate) fn new(port: u16, token: Token) -> Self {
        Self { port, token }
    }

    /// Looks at a request.
    ///
    /// # Errors
    /// 421 for a host that is not ours; 403 for another origin or site, or a change without our header; 405 for a method
    /// that nothing here has; 401 without the token.
    pub(crate) fn look_at(&self, request: &Request<Body>) -> Result<(), Refusal> {
        let headers = request.headers();
        if !only(headers, &HOST).is_some_and(|host| self.is_our_host(host)) {
            return Err(refusal(
                StatusCode::MISDIRECTED_REQUEST,
                "this server answers at its own address only",
            ));
        }
        if headers.contains_key(ORIGIN) {
            let is_ours = only(headers, &ORIGIN)
                .and_then(|origin| origin.strip_prefix("http://"))
                .is_some_and(|host| self.is_our_host(host));
            if !is_ours {
                return Err(refusal(StatusCode::FORBIDDEN, "the request comes from another page"));
            }
        }
        if headers.contains_key(FETCH_SITE) {
            let is_ours =
                only(headers, &FETCH_SITE).is_some_and(|site| matches!(site, "same-origin" | "none"));
            // Whoever follows a link to the address with the token has the token.
            if !is_ours && self.token_in_address(request).is_none() {
                return Err(refusal(StatusCode::FORBIDDEN, "the request comes from another site"));
            }
        }
        if request.method() == Method::POST {
            if !headers.contains_key(OUR_HEADER) {
                return Err(refusal(
                    StatusCode::FORBIDDEN,
                    "the request does not come from the page of linewake",
                ));
            }
        } else if request.method() != Method::GET {
            return Err(refusal(StatusCode::METHOD_NOT_ALLOWED, "only GET and POST are known here"));
        }
        if self.token_in_address(request).is_none() && !self.has_cookie(headers) {
            return Err(refusal(
                StatusCode::UNAUTHORIZED,
                "open the address that linewake serve printed: it carries the token of this session",
            ));
        }
        Ok(())
    }

    /// The cookie to set, if the request is for the first page and carries the right token in its address.
    pub(crate) fn token_in_address(&self, request: &Request<Body>) -> Option<HeaderValue> {
        let typed = request.uri().query()?.strip_prefix("token=")?;
        if request.uri().path() != "/" || request.method() != Method::GET || !self.token.is(typed) {
            return None;
        }
        // Cookies do not tell ports apart: each server has a name of its own.
        let cookie =
            format!("{}={}; HttpOnly; SameSite=Strict; Path=/", self.cookie_name(), self.token.text());
        HeaderValue::from_str(&cookie).ok()
    }

    fn cookie_name(&self) -> String {
        format!("{COOKIE_NAME}-{}", self.port)
    }

    fn is_our_host(&self, host: &str) -> bool {
        let Some((name, port)) = host.rsplit_once(':') else { return false };
        matches!(name, "127.0.0.1" | "localhost" | "[::1]") && port == self.port.to_string()
    }

    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        let name = self.cookie_name();
        headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|cookies| cookies.to_str().ok())
            .flat_map(|cookies| cookies.split(';'))
            .filter_map(|cookie| cookie.trim().split_once('='))
            .any(|(key, value)| key == name && self.token.is(value))
    }
}

/// The value of a header that stands there once.
fn only<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}

/// Headers of every answer.
pub(crate) fn harden(headers: &mut HeaderMap) {
    for (name, value) in [
        ("content-security-policy", POLICY),
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        ("cache-control", "no-store"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        ("x-frame-options", "DENY"),
        ("permissions-policy", "camera=(), geolocation=(), microphone=()"),
    ] {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guard() -> Guard {
        Guard::new(4711, Token("00112233445566778899aabbccddeeff".to_owned()))
    }

    fn request(method: &str, target: &str, headers: &[(&str, &str)]) -> Request<Body> {
        let mut request = Request::builder().method(method).uri(target);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        request.body(Body::empty()).expect("a request")
    }

    const COOKIE_OK: (&str, &str) = ("cookie", "other=1; linewake-4711=00112233445566778899aabbccddeeff");
    const HOST_OK: (&str, &str) = ("host", "127.0.0.1:4711");

    fn status(method: &str, target: &str, headers: &[(&str, &str)]) -> u16 {
        match guard().look_at(&request(method, target, headers)) {
            Ok(()) => 200,
            Err(refusal) => refusal.status.as_u16(),
        }
    }

    #[test]
    fn only_our_own_hosts() {
        for host in ["127.0.0.1:4711", "localhost:4711", "[::1]:4711"] {
            assert_eq!(status("GET", "/", &[("host", host), COOKIE_OK]), 200, "{host}");
        }
        for host in [
            "127.0.0.1",
            "localhost:80",
            "evil.example:4711",
            "127.0.0.1:4711.evil.example",
            "0.0.0.0:4711",
            "",
        ] {
            assert_eq!(status("GET", "/", &[("host", host), COOKIE_OK]), 421, "{host}");
        }
        assert_eq!(status("GET", "/", &[COOKIE_OK]), 421);
        assert_eq!(status("GET", "/", &[HOST_OK, HOST_OK, COOKIE_OK]), 421);
    }

    #[test]
    fn only_our_own_page() {
        let origin = |origin| status("GET", "/", &[HOST_OK, ("origin", origin), COOKIE_OK]);
        assert_eq!(origin("http://127.0.0.1:4711"), 200);
        for other in ["https://127.0.0.1:4711", "http://evil.example", "null", "http://127.0.0.1:4712"] {
            assert_eq!(origin(other), 403, "{other}");
        }
        let site = |site| status("GET", "/", &[HOST_OK, ("sec-fetch-site", site), COOKIE_OK]);
        assert_eq!((site("same-origin"), site("none")), (200, 200));
        assert_eq!((site("cross-site"), site("same-site"), site("")), (403, 403, 403));
    }

    #[test]
    fn only_with_the_token() {
        assert_eq!(status("GET", "/", &[HOST_OK]), 401);
        assert_eq!(status("GET", "/", &[HOST_OK, ("cookie", "linewake-4711=ff")]), 401);
        assert_eq!(
            status("GET", "/", &[HOST_OK, ("cookie", "linewake=00112233445566778899aabbccddeeff")]),
            401
        );
        let right = "/?token=00112233445566778899aabbccddeeff";
        assert_eq!(status("GET", right, &[HOST_OK]), 200);
        // A link in a mail, followed.
        assert_eq!(status("GET", right, &[HOST_OK, ("sec-fetch-site", "cross-site")]), 200);
        assert_eq!(status("GET", "/?token=00", &[HOST_OK]), 401);
        assert_eq!(status("GET", "/api/models?token=00112233445566778899aabbccddeeff", &[HOST_OK]), 401);
        assert_eq!(status("POST", right, &[HOST_OK, ("x-linewake", "1")]), 401);
    }

    #[test]
    fn changes_carry_our_header() {
        assert_eq!(status("POST", "/api/save", &[HOST_OK, COOKIE_OK]), 403);
        assert_eq!(status("POST", "/api/save", &[HOST_OK, COOKIE_OK, ("x-linewake", "1")]), 200);
        assert_eq!(status("DELETE", "/", &[HOST_OK, COOKIE_OK]), 405);
        assert_eq!(status("OPTIONS", "/", &[HOST_OK, COOKIE_OK]), 405);
    }

    #[test]
    fn tokens_differ_and_have_128_bits() {
        let (one, other) = (Token::draw().expect("entropy"), Token::draw().expect("entropy"));
        assert_eq!(one.text().len(), 32);
        assert_ne!(one.text(), other.text());
    }
}
