//! The secrets of one desk: the one-time token that opens it, the cookie given for the token, and the tokens of its
//! pages.

use super::address::encoded;
use super::secret::{Secret, same};
use axum::http::HeaderMap;
use axum::http::header::COOKIE;
use coilwright::Result;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long the one-time token is valid.
pub const ENTRANCE_IS_OPEN: Duration = Duration::from_secs(60);
/// Header that carries a page's token.
pub const PAGE_HEADER: &str = "x-desk-page";

/// The address of the desk on this port with a one-time token, and the page to go on to.
pub fn entrance_at(port: u16, token: &str, page: Option<&str>) -> String {
    let page = page.map(|page| format!("&page={}", encoded(page))).unwrap_or_default();
    format!("http://127.0.0.1:{port}/open?token={token}{page}")
}

/// The secrets of one desk.
pub struct Session {
    port: u16,
    entrance: Mutex<Option<(Secret, Instant)>>,
    cookie: Secret,
    pages: Secret,
}

impl Session {
    /// Makes new secrets for the desk on this port.
    pub fn new(port: u16) -> Result<Self> {
        let entrance = Mutex::new(Some((Secret::new()?, Instant::now())));
        Ok(Self { port, entrance, cookie: Secret::new()?, pages: Secret::new()? })
    }

    /// The address to open, with the one-time token.
    pub fn entrance(&self, page: Option<&str>) -> Result<String> {
        let entrance = self.entrance.lock().unwrap_or_else(PoisonError::into_inner);
        let token = entrance.as_ref().map(|(token, _)| token.text()).unwrap_or_default();
        Ok(entrance_at(self.port, &token, page))
    }

    /// A new one-time token in the place of the last one.
    pub fn new_token(&self) -> Result<String> {
        let token = Secret::new()?;
        let text = token.text();
        *self.entrance.lock().unwrap_or_else(PoisonError::into_inner) = Some((token, Instant::now()));
        Ok(text)
    }

    /// Whether no token is waiting to be used: the last one is used or too old.
    pub fn is_entered(&self) -> bool {
        let entrance = self.entrance.lock().unwrap_or_else(PoisonError::into_inner);
        entrance.as_ref().is_none_or(|(_, since)| since.elapsed() >= ENTRANCE_IS_OPEN)
    }

    /// Uses up the one-time token. True if it is right, unused and still valid.
    pub fn enter(&self, token: &str) -> bool {
        let mut entrance = self.entrance.lock().unwrap_or_else(PoisonError::into_inner);
        let right = entrance
            .as_ref()
            .is_some_and(|(kept, since)| since.elapsed() < ENTRANCE_IS_OPEN && same(&kept.text(), token));
        if right {
            *entrance = None;
        }
        right
    }

    /// The cookie for a browser that has entered. Its name contains the port, because all ports of a machine share
    /// cookies.
    pub fn cookie(&self) -> String {
        format!("{}={}; HttpOnly; SameSite=Strict; Path=/", self.cookie_name(), self.cookie.text())
    }

    /// A token for one page: a random number, and the proof that it was issued here.
    pub fn page_token(&self) -> Result<String> {
        let number = Secret::new()?.text();
        Ok(format!("{number}.{}", self.pages.proof(&number)))
    }

    /// Whether a token was issued for one of this desk's pages.
    pub fn is_page_token(&self, token: &str) -> bool {
        token.split_once('.').is_some_and(|(number, proof)| same(&self.pages.proof(number), proof))
    }

    /// A link to a download, with the proof that it was made here as its last parameter.
    pub fn keyed(&self, link: &str) -> String {
        let separator = if link.contains('?') { '&' } else { '?' };
        format!("{link}{separator}key={}", self.pages.proof(&format!("link {link}")))
    }

    /// Whether a link carries its own proof.
    pub fn is_keyed(&self, link: &str) -> bool {
        let Some((path, key)) = link.rsplit_once("key=") else { return false };
        let path = path.strip_suffix(['?', '&']).unwrap_or_default();
        same(&self.pages.proof(&format!("link {path}")), key)
    }

    fn cookie_name(&self) -> String {
        format!("desk-{}", self.port)
    }

    /// Host and port that requests must name.
    pub fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    /// Whether a request carries the cookie.
    pub fn has_cookie(&self, headers: &HeaderMap) -> bool {
        let wanted = self.cookie.text();
        let name = self.cookie_name();
        let lines = headers.get_all(COOKIE).iter().filter_map(|line| line.to_str().ok());
        lines
            .flat_map(|line| line.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(key, value)| key == name && same(value, &wanted))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_token_opens_once_and_in_time() {
        let session = Session::new(4000).unwrap();
        let address = session.entrance(Some("ask/map?spec=a b.json")).unwrap();
        let token = address.split("token=").nth(1).unwrap().split('&').next().unwrap();
        assert!(address.ends_with("&page=ask%2Fmap%3Fspec%3Da%20b.json"), "{address}");
        assert_eq!(token.len(), 32);
        assert!(!session.enter("") && !session.enter(&token[1..]));
        assert!(session.enter(token));
        assert!(!session.enter(token));
        let late = Session::new(4000).unwrap();
        let token = late.entrance(None).unwrap().split("token=").nth(1).unwrap().to_owned();
        let before = Instant::now().checked_sub(ENTRANCE_IS_OPEN).unwrap();
        late.entrance.lock().unwrap().as_mut().unwrap().1 = before;
        assert!(!late.enter(&token) && late.is_entered());
        let token = late.new_token().unwrap();
        assert!(!late.is_entered() && late.enter(&token) && !late.enter(&token) && late.is_entered());
    }
}
