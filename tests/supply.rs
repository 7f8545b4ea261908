//! What the program is made of: licences that allow handing it on, and nothing that talks over a network.

use cargo_metadata::{CargoOpt, DependencyKind, Metadata, MetadataCommand, PackageId};
use spdx::{Expression, LicenseItem};
use std::collections::BTreeSet;
use std::path::Path;

/// Licences, by their SPDX names, that ask for no more than their text and the authors' names.
const ALLOWED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "OFL-1.1",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// The same, where a changed file's source must be handed on too: well enough for what only runs here, in tests.
const ALLOWED_IN_TESTS: &[&str] = &["MPL-2.0"];

/// Crates that open connections or look up names.
const TALKERS: &[&str] = &[
    "async-std",
    "attohttpc",
    "curl",
    "hickory-resolver",
    "isahc",
    "minreq",
    "native-tls",
    "openssl",
    "quinn",
    "reqwest",
    "rustls-native-certs",
    "surf",
    "ureq",
];

/// All packages for this system, development's too; read from what is on this machine.
fn metadata() -> Metadata {
    let host = env!("CARGO_MANIFEST_DIR");
    let said = std::process::Command::new("rustc").arg("-vV").output().unwrap();
    let said = String::from_utf8(said.stdout).unwrap();
    let target = said.lines().find_map(|l| l.strip_prefix("host: ")).unwrap().to_string();
    let mut ask = MetadataCommand::new();
    ask.manifest_path(Path::new(host).join("Cargo.toml")).features(CargoOpt::AllFeatures);
    ask.other_options(["--locked", "--offline", "--filter-platform", &target].map(String::from).to_vec());
    ask.exec().unwrap()
}

/// What becomes part of the program or makes it, without what only tests use.
fn handed_on(metadata: &Metadata) -> BTreeSet<PackageId> {
    let nodes = &metadata.resolve.as_ref().unwrap().nodes;
    let mut open = vec![metadata.root_package().unwrap().id.clone()];
    let mut all = BTreeSet::new();
    while let Some(id) = open.pop() {
        let node = nodes.iter().find(|n| n.id == id).unwrap();
        let stays = |kinds: &[cargo_metadata::DepKindInfo]| kinds.iter().any(|k| k.kind != DependencyKind::Development);
        open.extend(node.deps.iter().filter(|d| stays(&d.dep_kinds) && !all.contains(&d.pkg)).map(|d| d.pkg.clone()));
        all.insert(id);
    }
    all
}

#[test]
fn every_licence_allows_handing_it_on() {
    let metadata = metadata();
    let handed_on = handed_on(&metadata);
    let mut wrong = Vec::new();
    for package in &metadata.packages {
        let Some(text) = &package.license else {
            wrong.push(format!("{} names no licence", package.name));
            continue;
        };
        // An old way of writing OR.
        match Expression::parse(&text.replace('/', " OR ")) {
            Ok(expression) => {
                let stays = !handed_on.contains(&package.id);
                let allowed = expression.evaluate(|asked| match &asked.license {
                    LicenseItem::Spdx { id, .. } => {
                        ALLOWED.contains(&id.name) || stays && ALLOWED_IN_TESTS.contains(&id.name)
                    }
                    LicenseItem::Other { .. } => false,
                });
                if !allowed {
                    wrong.push(format!("{}: {text}", package.name));
                }
            }
            Err(e) => wrong.push(format!("{}: {text}: {e}", package.name)),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let (all, ours) = (metadata.packages.len(), handed_on.len());
    assert!(ours > 150 && all > ours + 20, "{all} packages were looked at, {ours} of them handed on");
}

#[test]
fn nothing_here_talks_over_a_network() {
    let metadata = metadata();
    let handed_on = handed_on(&metadata);
    let ours = metadata.packages.iter().filter(|p| handed_on.contains(&p.id));
    let names: Vec<String> = ours.map(|p| p.name.to_string()).collect();
    assert!(names.iter().any(|n| n == "rusqlite"), "the list is that of this program");
    let talkers: Vec<_> = names.iter().filter(|n| TALKERS.contains(&n.as_str())).collect();
    assert!(talkers.is_empty(), "{talkers:?}");
    let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    let (mut looked, mut listening, mut found) = (0, 0, Vec::new());
    while let Some(path) = open.pop() {
        // The page on the phone is answered there and asks nobody; see its own tests for who may in.
        let listens = path.components().any(|c| c.as_os_str() == "web");
        if path.is_dir() {
            open.extend(std::fs::read_dir(&path).unwrap().map(|e| e.unwrap().path()));
        } else if path.extension().is_some_and(|e| e == "rs") {
            looked += 1;
            let text = std::fs::read_to_string(&path).unwrap();
            listening += usize::from(listens && text.contains("TcpListener::bind"));
            let plain = ["std::net", "tokio::net", "TcpStream", "TcpListener"];
            let asking =
                ["::connect", "UdpSocket", "UnixStream", "TcpSocket", "ocket_addrs", "ocketAddrs", "lookup_host"];
            let wrong = |words: &[&str]| words.iter().any(|w| text.contains(w));
            if wrong(&asking) || !listens && wrong(&plain) {
                found.push(path);
            }
        }
    }
    assert!(looked > 100 && found.is_empty(), "{looked} files, {found:?}");
    assert_eq!(listening, 1, "one place listens");
}

#[test]
fn no_library_wants_a_newer_compiler_than_this_says() {
    let metadata = metadata();
    let own = metadata.root_package().unwrap().rust_version.clone().expect("the manifest says it");
    let newer: Vec<String> = metadata
        .packages
        .iter()
        .filter(|p| p.rust_version.as_ref().is_some_and(|v| *v > own))
        .map(|p| format!("{} wants {}", p.name, p.rust_version.as_ref().unwrap()))
        .collect();
    assert!(newer.is_empty(), "{own}: {newer:?}");
    let readme = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    assert!(readme.contains(&format!("(https://www.rust-lang.org) {}.{} or newer", own.major, own.minor)));
}
