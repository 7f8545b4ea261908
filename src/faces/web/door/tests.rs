use super::*;
use axum::http::header::COOKIE;
use jiff::SignedDuration;
use tokio::sync::mpsc::unbounded_channel;

fn at(minute: i64) -> Timestamp {
    "2026-03-01T12:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_mins(minute)
}

fn ip(n: u8) -> IpAddr {
    IpAddr::V4(Ipv4Addr::new(192, 168, 1, n))
}

#[test]
fn a_code_that_is_over_gives_way_to_one_that_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let (tell, mut told) = unbounded_channel();
    let door = Door::lan(&Home::at(dir.path()), tell);
    // A phone that asks is offered one, and the next phone the same.
    door.offer(at(0)).unwrap();
    door.offer(at(59)).unwrap();
    let first = told.try_recv().unwrap();
    assert_eq!((first.until, told.try_recv().is_err()), (at(60), true));
    assert!(door.pair(&first.shown, "kitchen", ip(1), at(59)).is_ok());
    assert_eq!(door.pair(&first.shown, "hall", ip(2), at(60)).unwrap_err().code, "pair-over");
    let second = told.try_recv().unwrap();
    assert!(second.shown != first.shown && second.until == at(120));
    let cookie = door.pair(&second.shown, "hall", ip(2), at(61)).unwrap();
    // By it the phone is known, for ninety days without a visit.
    let mut headers = HeaderMap::new();
    let cookie = cookie.to_str().unwrap().split(';').next().unwrap().to_string();
    headers.insert(COOKIE, HeaderValue::from_str(&format!("a=b; {cookie}; c=d")).unwrap());
    let token = door.token(&headers);
    let day = |d: i64| at(61) + SignedDuration::from_hours(24 * d);
    assert!(door.knows(token.as_deref(), day(89)).unwrap());
    assert!(door.knows(token.as_deref(), day(178)).unwrap());
    assert!(!door.knows(token.as_deref(), day(268)).unwrap());
    // Over TLS only the cookie that never went plainly.
    let door = door.called(&[], true);
    assert_eq!(door.token(&headers), None);
    assert!(!door.knows(None, day(0)).unwrap());
}

#[test]
fn after_twenty_wrong_guesses_there_is_another_code() {
    let dir = tempfile::tempdir().unwrap();
    let (tell, mut told) = unbounded_channel();
    let door = Door::lan(&Home::at(dir.path()), tell);
    door.offer(at(0)).unwrap();
    let first = told.try_recv().unwrap();
    for n in 0..20 {
        assert!(told.try_recv().is_err(), "{n}");
        assert_eq!(door.pair("2222-2222", "", ip(n), at(1)).unwrap_err().code, "pair-wrong");
    }
    let second = told.try_recv().unwrap();
    assert_eq!(door.pair(&first.shown, "", ip(50), at(2)).unwrap_err().code, "pair-wrong");
    assert!(door.pair(&second.shown, "", ip(50), at(2)).is_ok());
}
