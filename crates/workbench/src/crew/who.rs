//! Who is at the other end of a request, as they call themselves.

use crate::pages::decoded;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use std::convert::Infallible;

/// The cookie that keeps the name in a browser.
pub const NAME_COOKIE: &str = "crew-name";
/// Longest name. **Unit**: sign. Own choice.
pub const LONGEST_NAME: usize = 40;

/// Who ticks.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Who {
    /// What they call themselves.
    pub name: String,
    /// Which phone; empty at the engineer's desk.
    pub hand: String,
}

impl Who {
    /// From the cookie of a browser at the desk.
    fn of(headers: &HeaderMap) -> Self {
        let name = cookie(headers, NAME_COOKIE).map(|name| tidy_name(&decoded(name))).unwrap_or_default();
        Self { name, hand: String::new() }
    }
}

impl<S: Sync> FromRequestParts<S> for Who {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let own = Self::of(&parts.headers);
        Ok(match parts.extensions.get::<Self>() {
            // The phone was told apart when it joined; the name may have been changed since.
            Some(joined) if own.name.is_empty() => joined.clone(),
            Some(joined) => Self { name: own.name, hand: joined.hand.clone() },
            None => own,
        })
    }
}

/// The value of a cookie.
pub fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    all.flat_map(|cookies| cookies.split(';')).find_map(|cookie| cookie.trim().strip_prefix(name)?.strip_prefix('='))
}

/// A name as it is kept: one line, not too long.
pub fn tidy_name(name: &str) -> String {
    let plain: String = name.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).take(LONGEST_NAME).collect();
    plain.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_comes_from_its_own_cookie() {
        let headers: HeaderMap =
            [(header::COOKIE, "theme=dark; crew-name=Ana%20B; xcrew-name=no".parse().expect("a value"))].into_iter().collect();
        assert_eq!(Who::of(&headers).name, "Ana B");
        assert_eq!(cookie(&headers, "crew"), None);
        assert_eq!(tidy_name(&format!("a\nb{}", "x".repeat(100))).chars().count(), LONGEST_NAME);
    }
}
