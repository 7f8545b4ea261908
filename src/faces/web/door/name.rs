//! By which name the server was asked for, and from where a request comes.
//!
//! - A name other than `localhost`, a plain address or a name given at the start is refused: a site that gives its own name to this
//!   computer's address (DNS rebinding) would otherwise read the pages.
//! - What changes something must come from a page of this server. Browsers say where a request comes from in `Sec-Fetch-Site` and
//!   `Origin` (W3C Fetch Metadata; RFC 6454, section 7); one that says neither is refused.
//! - What only looks may be led here from elsewhere, as by a link. A picture or script that a page of another site wants is refused.

use crate::faces::web::fail::Fail;
use axum::http::{HeaderMap, HeaderName, Method, StatusCode, header};
use std::net::{IpAddr, Ipv4Addr};

/// Judges by headers alone. `names`, in small letters, are the server's further names.
pub(super) fn judge(method: &Method, headers: &HeaderMap, names: &[String]) -> Result<(), Fail> {
    let text = |name: HeaderName| headers.get(name).and_then(|v| v.to_str().ok());
    let host = text(header::HOST).unwrap_or_default();
    if headers.get_all(header::HOST).iter().count() > 1 || !own(host, names) {
        return Err(Fail::new(
            StatusCode::MISDIRECTED_REQUEST,
            "host-unknown",
            "This server was asked for by a name that is not its own.",
            "Type the address that the server showed when it started, or give the name with --name.",
        ));
    }
    let site = text(HeaderName::from_static("sec-fetch-site"));
    let origin = text(header::ORIGIN).and_then(|o| o.strip_prefix("http://").or(o.strip_prefix("https://")));
    let came_from_here = match (site, origin) {
        (Some(site), _) => site == "same-origin",
        (None, Some(origin)) => origin.eq_ignore_ascii_case(host),
        (None, None) => false,
    };
    let led_here = text(HeaderName::from_static("sec-fetch-mode")).is_none_or(|mode| mode == "navigate");
    let fine = came_from_here || method.is_safe() && (led_here || matches!(site, None | Some("none")));
    match fine {
        true => Ok(()),
        false => Err(Fail::new(
            StatusCode::FORBIDDEN,
            "request-foreign",
            "This did not come from a page of this server; nothing was done.",
            "Open the page again and repeat it there.",
        )),
    }
}

/// A plain address cannot be another site's name.
fn own(host: &str, names: &[String]) -> bool {
    let name = match host.strip_prefix('[') {
        Some(rest) => rest.split_once(']').map_or("", |(name, _)| name),
        None => host.rsplit_once(':').map_or(host, |(name, _)| name),
    };
    let name = name.to_ascii_lowercase();
    name == "localhost" || name.parse::<IpAddr>().is_ok() || names.contains(&name)
}

/// Whether an address is of a home network: private (RFC 1918), given by a computer to itself where nobody else did (RFC 3927), or this
/// computer. A router that lets strangers through from outside shows their own addresses.
pub(in crate::faces::web) fn of_a_home(ip: IpAddr) -> bool {
    let near = |v4: Ipv4Addr| v4.is_private() || v4.is_link_local() || v4.is_loopback();
    match ip.to_canonical() {
        IpAddr::V4(v4) => near(v4),
        IpAddr::V6(v6) => v6.is_loopback() || v6.is_unique_local() || v6.is_unicast_link_local(),
    }
}

/// Refuses who comes from elsewhere.
pub(super) fn near(ip: Option<IpAddr>) -> Result<(), Fail> {
    match ip {
        Some(ip) if of_a_home(ip) => Ok(()),
        _ => Err(Fail::new(
            StatusCode::FORBIDDEN,
            "not-at-home",
            "This page is for the home network alone; the request came from outside.",
            "Open it at home. From elsewhere come in through a private tunnel that ends at home.",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    fn judged(method: Method, pairs: &[(&'static str, &'static str)]) -> Option<&'static str> {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(HeaderName::from_static(name), HeaderValue::from_static(value));
        }
        judge(&method, &headers, &["aquarium.home".to_string()]).err().map(|f| f.code)
    }

    #[test]
    fn looking_is_judged_by_who_wants_the_answer() {
        let host = ("host", "192.168.1.7:8646");
        let get = |more: &[(&'static str, &'static str)]| judged(Method::GET, &[&[host], more].concat());
        let fetch = |site, mode| get(&[("sec-fetch-site", site), ("sec-fetch-mode", mode)]);
        assert_eq!(get(&[]), None);
        for (site, mode) in
            [("none", "navigate"), ("cross-site", "navigate"), ("same-origin", "no-cors"), ("none", "cors")]
        {
            assert_eq!(fetch(site, mode), None, "{site} {mode}");
        }
        for (site, mode) in
            [("cross-site", "no-cors"), ("same-site", "no-cors"), ("cross-site", "cors"), ("cross-site", "websocket")]
        {
            assert_eq!(fetch(site, mode), Some("request-foreign"), "{site} {mode}");
        }
    }

    #[test]
    fn two_names_are_no_name() {
        let two = [("host", "aquarium.home"), ("host", "aquarium.home")];
        assert_eq!(judged(Method::GET, &two[..1]), None);
        assert_eq!(judged(Method::GET, &two), Some("host-unknown"));
        assert_eq!(judged(Method::GET, &[]), Some("host-unknown"));
    }

    #[test]
    fn a_home_has_private_addresses() {
        let home = |ip: &str| of_a_home(ip.parse().unwrap());
        for ip in [
            "192.168.1.7",
            "10.0.0.1",
            "172.31.255.1",
            "169.254.9.9",
            "127.0.0.1",
            "::1",
            "fd00::1",
            "fe80::1",
            "::ffff:10.1.1.1",
        ] {
            assert!(home(ip), "{ip}");
        }
        for ip in
            ["192.0.2.7", "172.32.0.1", "100.64.0.1", "8.8.8.8", "2001:db8::1", "::ffff:192.0.2.1", "0.0.0.0", "::"]
        {
            assert!(!home(ip), "{ip}");
        }
        assert!(near(None).is_err());
    }
}
