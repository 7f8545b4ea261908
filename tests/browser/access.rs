//! An accessibility pass over every page, by a general-purpose checker (axe-core, see fixtures/axe).

use super::drive::Browser;
use serde_json::Value;

const CHECKER: &str = include_str!("../../fixtures/axe/axe.min.js");

/// WCAG 2.0 to 2.2, levels A and AA.
const RUN: &str = "const done = arguments[arguments.length - 1];
axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
  .then(r => done({ passed: r.passes.length, broken: r.violations.map(v => [v.id, v.help, v.nodes.map(n => n.html + ' ' + n.failureSummary)]) }))
  .catch(e => done({ passed: 0, broken: [String(e)] }));";

/// No violation on the page as it stands.
pub async fn pass(browser: &Browser) {
    browser.client.execute(CHECKER, vec![]).await.unwrap();
    let said = browser.client.execute_async(RUN, vec![]).await.unwrap();
    let at = browser.client.current_url().await.unwrap();
    assert_eq!(
        said["broken"],
        Value::Array(Vec::new()),
        "at {at}: {}",
        serde_json::to_string_pretty(&said["broken"]).unwrap()
    );
    // It did look.
    assert!(said["passed"].as_u64().unwrap() >= 10, "at {at}: {said}");
}
