//! The start page.

use super::access;
use super::drive::{Browser, With, run};
use crate::support::House;
use crate::support::served::Server;

#[test]
fn the_start_page_shows_the_tanks() {
    let house = House::new();
    house.run(&["tank", "add", "shelf <b>&\"", "--water", "fresh"]).touches(&["home/"]).go();
    let mut server = Server::start(&house, &[]);
    run(async {
        let browser = Browser::open(With::Script).await;
        browser.go(&server, "/").await;
        browser.until("shelf <b>&\"").await;
        browser.fits().await;
        access::pass(&browser).await;
        browser.close().await;
    });
    assert_eq!(server.stop(), Some(0));
}

#[test]
fn a_page_with_a_fault_fails_the_accessibility_pass() {
    // The pass is worth something only if it can fail.
    let house = House::new();
    let server = Server::start(&house, &[]);
    let broken = std::panic::catch_unwind(|| {
        run(async {
            let browser = Browser::open(With::Script).await;
            browser.go(&server, "/").await;
            let faulty = "document.querySelector('main').innerHTML = '<h1>x</h1><img src=/icon.svg><input name=y>'";
            browser.client.execute(faulty, vec![]).await.unwrap();
            access::pass(&browser).await;
        });
    });
    let said = broken.unwrap_err();
    let said = said.downcast_ref::<String>().unwrap();
    assert!(said.contains("image-alt") && said.contains("label"), "{said}");
}
