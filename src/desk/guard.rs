//! Decides which requests are answered. This matters because every web page that the user visits can reach a server on
//! this machine.
//!
//! A request must name exactly this host and port; a foreign host name that resolves to this machine does not. It must
//! come from the desk's own pages or from the user directly, as the browser states in `Sec-Fetch-Site` and `Origin`. It
//! must carry the cookie that was given for the one-time token. All ports of a machine share cookies, so requests for
//! data and changes must also carry the token that only the desk's own pages have.

use super::beside::{Bond, IS_USED, NEW_TOKEN, PROOF_HEADER};
use super::refusal::refusal;
use super::session::{PAGE_HEADER, Session};
use super::state::State;
use axum::extract::{Request, State as Shared};
use axum::http::header::{HOST, ORIGIN};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;
use std::sync::Arc;

/// What kind of address a request is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    /// The address at which the one-time token is exchanged for the cookie.
    Entrance,
    /// An address at which a second call on the same folder asks; no browser does.
    Beside,
    /// A page, or something that a page shows.
    Page,
    /// Data for a page, and everything that makes a change.
    Data,
    /// A file of the folder as a download: its link carries a key, because a link sends no page's token.
    Download,
}

impl Place {
    fn of(path: &str) -> Self {
        match path {
            "/open" => Self::Entrance,
            NEW_TOKEN | IS_USED => Self::Beside,
            _ if path.starts_with("/do/") => Self::Data,
            "/files.zip" => Self::Download,
            _ if ["/bytes/", "/kept/", "/earlier/"].iter().any(|it| path.starts_with(it)) => Self::Download,
            _ => Self::Page,
        }
    }
}

/// Passes a permitted request on. Any other gets an error status and one sentence.
pub async fn check(Shared(state): Shared<Arc<State>>, request: Request, next: Next) -> Response {
    match refused(&state.session, &state.bond, &request) {
        Some((status, reason)) => refusal(status, reason),
        None => next.run(request).await,
    }
}

fn refused(session: &Session, bond: &Bond, request: &Request) -> Option<(StatusCode, &'static str)> {
    let headers = request.headers();
    let place = Place::of(request.uri().path());
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    if !is_only(headers, HOST.as_str(), &session.host()) || request.uri().authority().is_some() {
        return Some((StatusCode::MISDIRECTED_REQUEST, "This desk answers to its own address only."));
    }
    if place == Place::Beside {
        let proof = headers.get(PROOF_HEADER).and_then(|proof| proof.to_str().ok());
        let is_known = proof.is_some_and(|proof| bond.number(request.uri().path(), proof).is_some());
        let is_of_a_browser =
            ["sec-fetch-site", ORIGIN.as_str()].iter().any(|name| headers.contains_key(*name));
        let is_heard = is_known && !is_of_a_browser && *request.method() == Method::POST;
        return (!is_heard)
            .then_some((StatusCode::FORBIDDEN, "Only a second call of the same user asks here."));
    }
    if !comes_from_here(headers, place, request.method()) {
        return Some((StatusCode::FORBIDDEN, "The request came from a page that is not the desk's."));
    }
    if changes && !is_only(headers, ORIGIN.as_str(), &format!("http://{}", session.host())) {
        return Some((StatusCode::FORBIDDEN, "Only the desk's own pages may change anything."));
    }
    if place == Place::Entrance {
        // Anything but opening the address would use up its token for nothing.
        let opens = *request.method() == Method::GET;
        return (!opens).then_some((StatusCode::METHOD_NOT_ALLOWED, "The address is opened, not looked at."));
    }
    if !session.has_cookie(headers) {
        let reason = "This browser has not entered, or was closed since. Open the desk again from the system's menu, \
                      or with `coilwright desk` and the folder: the desk that runs is found again, and nothing is lost.";
        return Some((StatusCode::UNAUTHORIZED, reason));
    }
    let page = headers.get(PAGE_HEADER).and_then(|token| token.to_str().ok());
    if place == Place::Download
        && !request.uri().path_and_query().is_some_and(|link| session.is_keyed(link.as_str()))
        && !page.is_some_and(|token| session.is_page_token(token))
    {
        return Some((
            StatusCode::FORBIDDEN,
            "The link is not one of this desk's pages: load the page anew.",
        ));
    }
    if (place == Place::Data || changes) && !page.is_some_and(|token| session.is_page_token(token)) {
        return Some((StatusCode::FORBIDDEN, "The page is not one of this desk's: load it anew."));
    }
    None
}

/// Whether a header occurs exactly once and has this value.
fn is_only(headers: &HeaderMap, name: &str, value: &str) -> bool {
    let mut values = headers.get_all(name).iter();
    values.next().is_some_and(|found| found.as_bytes() == value.as_bytes()) && values.next().is_none()
}

/// Whether the request comes from this desk's own pages, as far as the browser says. A program that is no browser sends
/// no such header; it also has no other site's cookies. A navigation from another site may reach a page, but the strict
/// cookie is not sent with it.
fn comes_from_here(headers: &HeaderMap, place: Place, method: &Method) -> bool {
    let said = |name: &str| headers.get(name).map(|value| value.as_bytes());
    // A browser says each of these once. Which of two is meant cannot be known.
    if ["sec-fetch-site", "sec-fetch-mode", "sec-fetch-dest"]
        .iter()
        .any(|name| headers.get_all(*name).iter().count() > 1)
    {
        return false;
    }
    match said("sec-fetch-site") {
        None | Some(b"same-origin") => true,
        Some(b"none") => place != Place::Data,
        Some(_) => {
            place != Place::Data
                && *method == Method::GET
                && said("sec-fetch-mode") == Some(b"navigate")
                && said("sec-fetch-dest") == Some(b"document")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::Body;

    fn session() -> Session {
        Session::new(4000).unwrap()
    }

    fn request(session: &Session, path: &str, method: Method) -> axum::http::request::Builder {
        Request::builder()
            .method(method)
            .uri(path)
            .header("host", "127.0.0.1:4000")
            .header("sec-fetch-site", "same-origin")
            .header("cookie", format!("other=1; {}", session.cookie().split(';').next().unwrap()))
    }

    fn status(session: &Session, request: axum::http::request::Builder) -> Option<u16> {
        refused(session, &Bond::new().unwrap(), &request.body(Body::empty()).unwrap())
            .map(|(status, _)| status.as_u16())
    }

    #[test]
    fn a_page_needs_host_cookie_and_the_right_origin() {
        let session = session();
        let page = || request(&session, "/", Method::GET);
        assert_eq!(status(&session, page()), None);
        assert_eq!(status(&session, page().header("host", "evil.example")), Some(421));
        assert_eq!(status(&session, page().header("sec-fetch-site", "same-origin")), Some(403));
        let without = |path: &str| Request::builder().uri(path.to_owned()).header("host", "127.0.0.1:4000");
        assert_eq!(status(&session, without("/")), Some(401));
        assert_eq!(status(&session, without("/open")), None);
        assert_eq!(status(&session, without("/open").method(Method::HEAD)), Some(405));
        for host in ["localhost:4000", "127.0.0.1", "127.0.0.1:4001", "[::1]:4000", "evil.example:4000"] {
            assert_eq!(
                status(&session, Request::builder().uri("/open").header("host", host)),
                Some(421),
                "{host}"
            );
        }
        assert_eq!(status(&session, Request::builder().uri("/open")), Some(421));
    }

    #[test]
    fn a_second_call_is_heard_by_its_proof_alone() {
        let session = session();
        for path in ["/beside/token", "/beside/used"] {
            // The cookie and a page's token are no proof.
            let asked = request(&session, path, Method::POST)
                .header(PAGE_HEADER, session.page_token().unwrap())
                .header("origin", "http://127.0.0.1:4000");
            assert_eq!(status(&session, asked), Some(403), "{path}");
            let asked = Request::builder().method(Method::POST).uri(path).header("host", "127.0.0.1:4000");
            assert_eq!(status(&session, asked.header(PROOF_HEADER, "0.0")), Some(403), "{path}");
        }
    }

    #[test]
    fn other_sites_get_a_navigation_at_most() {
        let session = session();
        let from = |site: &str, mode: &str, path: &str| {
            Request::builder()
                .uri(path.to_owned())
                .header("host", "127.0.0.1:4000")
                .header("cookie", session.cookie())
                .header("sec-fetch-site", site.to_owned())
                .header("sec-fetch-mode", mode.to_owned())
                .header("sec-fetch-dest", if mode == "navigate" { "document" } else { "image" })
                .header(PAGE_HEADER, session.page_token().unwrap())
        };
        for site in ["cross-site", "same-site"] {
            assert_eq!(status(&session, from(site, "no-cors", "/made/1/map.svg")), Some(403));
            assert_eq!(status(&session, from(site, "navigate", "/do/run/1")), Some(403));
            assert_eq!(status(&session, from(site, "navigate", "/")), None);
            assert_eq!(status(&session, from(site, "navigate", "/").method(Method::POST)), Some(403));
        }
        assert_eq!(status(&session, from("same-origin", "cors", "/do/run/1")), None);
        assert_eq!(status(&session, from("none", "navigate", "/do/run/1")), Some(403));
    }

    #[test]
    fn a_download_needs_the_key_of_its_link_or_a_pages_token() {
        let session = session();
        for link in [
            "/bytes/pair.json",
            "/kept/a%20b.html",
            "/earlier/pair.json/1",
            "/files.zip",
            "/files.zip?file=a.json",
        ] {
            let get = |path: &str| request(&session, path, Method::GET);
            assert_eq!(status(&session, get(link)), Some(403), "{link}");
            let keyed = session.keyed(link);
            assert_eq!(status(&session, get(&keyed)), None, "{keyed}");
            assert_eq!(status(&session, get(&keyed[..keyed.len() - 1])), Some(403), "{keyed}");
            assert_eq!(
                status(&session, get(&session.keyed("/bytes/other.json").replace("other", "pair"))),
                Some(403)
            );
            let token = session.page_token().unwrap();
            assert_eq!(status(&session, get(link).header(PAGE_HEADER, &token)), None, "{link}");
        }
    }

    #[test]
    fn data_and_changes_need_the_pages_own_token() {
        let session = session();
        let data = || request(&session, "/do/run/1", Method::GET);
        assert_eq!(status(&session, data()), Some(403));
        let token = session.page_token().unwrap();
        assert_eq!(status(&session, data().header(PAGE_HEADER, &token)), None);
        assert_eq!(status(&session, data().header(PAGE_HEADER, &token[1..])), Some(403));
        let change = || request(&session, "/do/quit", Method::POST).header(PAGE_HEADER, &token);
        assert_eq!(status(&session, change()), Some(403));
        assert_eq!(status(&session, change().header("origin", "http://127.0.0.1:4000")), None);
        for origin in ["null", "http://127.0.0.1:4001", "https://127.0.0.1:4000", "http://localhost:4000"] {
            assert_eq!(status(&session, change().header("origin", origin)), Some(403), "{origin}");
        }
    }
}
