//! Help and version.

use crate::support::House;

#[test]
fn help_names_every_verb_and_every_exit_code() {
    let house = House::new();
    let said = house.run(&["--help"]).go().out;
    for verb in ["read", "log", "tank", "kit", "card"] {
        assert!(said.contains(&format!("\n  {verb} ")), "{verb} in {said}");
        house.run(&[verb, "--help"]).out_has("Usage: tintline").out_has("--home").go();
    }
    // Verbs that are not built are not shown.
    for verb in ["event", "status", "plan", "chart", "report", "wait", "serve"] {
        assert!(!said.contains(&format!("\n  {verb} ")), "{verb} in {said}");
        house.run(&[verb]).exit(2).err_has("unrecognized subcommand").go();
    }
    assert!(said.contains("0 all read or done, 1 failed, 2 usage, 3 some need a look, 4 log or storage"), "{said}");
    assert!(said.contains("TINTLINE_HOME"), "{said}");
    house.run(&[]).exit(2).err_has("Usage: tintline").go();
    let version = format!("tintline {}\n", env!("CARGO_PKG_VERSION"));
    assert_eq!(house.run(&["--version"]).go().out, version);
}

#[test]
fn help_of_read_tells_where_originals_go() {
    let said = House::new().run(&["read", "--help"]).go().out;
    for part in ["STATION=TEST:1+4", "--no-keep", "--photo-space", "Originals are kept", "--at", "--again", "--overlay"]
    {
        assert!(said.contains(part), "{part} in {said}");
    }
    let said = House::new().run(&["kit", "add-test", "--help"]).go().out;
    assert!(said.contains("mg/L NH3-N") && said.contains("--water"), "{said}");
}
