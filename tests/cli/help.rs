//! Help and version.

use crate::support::House;

#[test]
fn help_names_every_verb_and_every_exit_code() {
    let house = House::new();
    let said = house.run(&["--help"]).go().out;
    for verb in ["read", "log", "event", "tank", "kit", "card", "status", "chart", "plan", "report", "wait", "serve"] {
        assert!(said.contains(&format!("\n  {verb} ")), "{verb} in {said}");
        house.run(&[verb, "--help"]).out_has("Usage: tintline").out_has("--home").go();
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

#[test]
fn the_readme_has_the_commands_as_the_help_has_them() {
    let readme = include_str!("../../README.md");
    let table = tintline::faces::cli::command_table();
    assert!(table.lines().count() > 20, "{table}");
    assert!(readme.contains(&table), "in README.md under 'Commands' belongs:\n{table}");
}

#[test]
fn home_is_the_data_folder_unless_said_otherwise() {
    let house = House::new();
    let add = ["tank", "add", "reef", "--water", "fresh"];
    let data = house.path("data").display().to_string();
    let run = |args: &[&str]| house.run(args).env("XDG_DATA_HOME", &data).env("HOME", "/nowhere");
    run(&add).no_env("TINTLINE_HOME").touches(&["data/tintline/log.db"]).out_has("reef").go();
    run(&["tank", "list"]).no_env("TINTLINE_HOME").out_has("reef").go();
    // The variable first, before it the option.
    run(&["tank", "list"]).out_has("No tank yet").go();
    let option = house.path("data/tintline").display().to_string();
    run(&["tank", "list", "--home", &option]).out_has("reef").go();
}
