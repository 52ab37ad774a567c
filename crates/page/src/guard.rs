//! Who may ask: this machine, by its own name, from the page itself, with the key of this start.
//!
//! Host and Origin are compared with the address that is served, so that a page from another site, or another name that leads here, can
//! neither read nor start anything. The key comes once in the address that is printed, then as a cookie that scripts cannot read.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, COOKIE, HOST, LOCATION, ORIGIN, REFERRER_POLICY,
    SET_COOKIE, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;

use crate::app::App;

/// What the page itself may do: its own files, nothing written into it, nothing from elsewhere.
pub const PAGE_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; media-src 'self'; connect-src 'self'; \
     font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'";
/// What a file of a run may do when it is opened: be looked at.
pub const FILE_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; media-src 'self'; base-uri 'none'; form-action 'none'; \
     frame-ancestors 'none'";

/// The key of this start and the names of this server.
#[derive(Debug, Clone)]
pub struct Key {
    word: String,
    port: u16,
}

impl Key {
    /// A new key for a server on this port.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn new(port: u16) -> std::io::Result<Self> {
        let mut bytes = [0_u8; 24];
        getrandom::fill(&mut bytes).map_err(std::io::Error::other)?;
        let word = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Self { word, port })
    }

    /// The address to open.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?key={}", self.port, self.word)
    }

    fn is_host(&self, host: &str) -> bool {
        ["127.0.0.1", "localhost"]
            .iter()
            .any(|name| host == format!("{name}:{}", self.port))
    }

    fn fits(&self, word: &str) -> bool {
        // Every byte is compared, so that the time tells nothing.
        let differ = self
            .word
            .bytes()
            .zip(word.bytes())
            .fold(0, |all, (a, b)| all | (a ^ b));
        word.len() == self.word.len() && differ == 0
    }

    fn name(&self) -> String {
        format!("tremolet-{}", self.port)
    }

    fn in_cookie(&self, headers: &HeaderMap) -> bool {
        let cookies = headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok());
        let mut pairs = cookies
            .flat_map(|line| line.split(';'))
            .filter_map(|pair| pair.trim().split_once('='));
        pairs.any(|(name, word)| name == self.name() && self.fits(word))
    }
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name).map(|value| value.to_str().unwrap_or("?"))
}

/// Why a request is refused; `None` when it may pass.
fn refusal(key: &Key, method: &Method, headers: &HeaderMap, shown: bool) -> Option<&'static str> {
    let host = text(headers, &HOST).unwrap_or("");
    if !key.is_host(host) || headers.get_all(HOST).iter().count() != 1 {
        return Some("this address is not served here");
    }
    let own = format!("http://{host}");
    let reads = method == Method::GET || method == Method::HEAD;
    match text(headers, &ORIGIN) {
        Some(origin) if origin != own => return Some("asked from another site"),
        None if !reads => return Some("asked from nowhere"),
        _ => {}
    }
    let site = HeaderName::from_static("sec-fetch-site");
    if text(headers, &site).is_some_and(|site| site != "same-origin" && site != "none") {
        return Some("asked from another site");
    }
    if !shown && !key.in_cookie(headers) {
        return Some("no key: open the address that `tremolet serve` printed");
    }
    None
}

fn plain(status: StatusCode, text: &str) -> Response {
    let mut response = Response::new(Body::from(format!("{text}\n")));
    *response.status_mut() = status;
    let kind = HeaderValue::from_static("text/plain; charset=utf-8");
    response.headers_mut().insert(CONTENT_TYPE, kind);
    response
}

/// The key in a query, when it is there.
fn shown_key(request: &Request) -> Option<&str> {
    let first = request.uri().path() == "/" && request.method() == Method::GET;
    let query = request.uri().query().filter(|_| first)?;
    query.split('&').find_map(|pair| pair.strip_prefix("key="))
}

/// Lets a request through, or not; and says on every answer what a browser may do with it.
pub async fn guard(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    let key = &app.key;
    let shown = shown_key(&request).map(|word| key.fits(word));
    let refused = refusal(key, request.method(), request.headers(), shown == Some(true));
    let mut response = match (refused, shown) {
        (Some(why), _) => plain(StatusCode::FORBIDDEN, why),
        (None, Some(_)) => entered(key),
        (None, None) => next.run(request).await,
    };
    let headers = response.headers_mut();
    let mut set = |name: HeaderName, value: &'static str| {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    };
    set(CONTENT_SECURITY_POLICY, PAGE_POLICY);
    set(X_CONTENT_TYPE_OPTIONS, "nosniff");
    set(X_FRAME_OPTIONS, "DENY");
    set(REFERRER_POLICY, "no-referrer");
    set(CACHE_CONTROL, "no-store");
    set(
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    );
    set(
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    );
    response
}

/// The first page, with the key moved from the address into a cookie.
fn entered(key: &Key) -> Response {
    let mut response = plain(StatusCode::SEE_OTHER, "");
    let cookie = format!("{}={}; Path=/; HttpOnly; SameSite=Strict", key.name(), key.word);
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        response.headers_mut().insert(SET_COOKIE, cookie);
    }
    response
        .headers_mut()
        .insert(LOCATION, HeaderValue::from_static("/"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&str, &str)]) -> HeaderMap {
        let pair = |(name, value): &(&str, &str)| {
            (
                HeaderName::from_bytes(name.as_bytes()).unwrap(),
                HeaderValue::from_str(value).unwrap(),
            )
        };
        pairs.iter().map(pair).collect()
    }

    #[test]
    fn only_the_own_page_with_the_key_may_ask() {
        let key = Key::new(4711).unwrap();
        let cookie = format!("a=b; tremolet-4711={}", key.word);
        let good = [
            ("host", "127.0.0.1:4711"),
            ("cookie", cookie.as_str()),
            ("origin", "http://127.0.0.1:4711"),
        ];
        let asked = |pairs: &[(&str, &str)], method: Method| refusal(&key, &method, &headers(pairs), false);
        assert_eq!(asked(&good, Method::PUT), None);
        assert_eq!(asked(&good[..2], Method::GET), None);
        assert!(asked(&good[..2], Method::PUT).is_some(), "no origin");
        assert!(asked(&good[..1], Method::GET).is_some(), "no key");
        for host in [
            "evil.example:4711",
            "127.0.0.1",
            "127.0.0.1:80",
            "localhost:4712",
            "",
        ] {
            assert!(asked(&[("host", host), good[1]], Method::GET).is_some(), "{host}");
        }
        for origin in [
            "http://evil.example",
            "null",
            "http://127.0.0.1:80",
            "https://127.0.0.1:4711",
            "http://localhost:4711",
        ] {
            assert!(
                asked(&[good[0], good[1], ("origin", origin)], Method::GET).is_some(),
                "{origin}"
            );
        }
        for site in ["cross-site", "same-site"] {
            assert!(
                asked(&[good[0], good[1], ("sec-fetch-site", site)], Method::GET).is_some(),
                "{site}"
            );
        }
        let wrong = cookie.replace(&key.word, &"0".repeat(key.word.len()));
        assert!(asked(&[good[0], ("cookie", &wrong)], Method::GET).is_some());
        assert!(asked(&[good[0], ("cookie", "tremolet-4711=")], Method::GET).is_some());
    }

    #[test]
    fn two_starts_have_two_keys() {
        assert_ne!(Key::new(1).unwrap().word, Key::new(1).unwrap().word);
    }
}
