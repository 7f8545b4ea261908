//! `read --watch`: a folder that a phone puts photos into.

use super::brokenoff::{start, wait_for};
use super::week::{day, standing, week};
use std::fs::{File, OpenOptions};
use std::io::Write;
use tintline::log::Log;

#[test]
fn what_comes_in_is_read_once_it_is_complete() {
    let house = week();
    let folder = house.path("desk/week");
    std::fs::remove_dir_all(&folder).unwrap();
    std::fs::create_dir(&folder).unwrap();
    let log = Log::open(&house.path("home/log.db")).unwrap();
    let logged = || log.readings(&Default::default()).unwrap().len();
    let mut child = start(&house, &["read", "week", "--watch", "--every", "1"]);
    // A photo that is there at once, one that comes in pieces, one under a name of its own until it is complete.
    let ((first, one), (second, two), (third, three)) = (day(0), day(1), day(2));
    std::fs::write(folder.join(first), one).unwrap();
    let mut slow = File::create(folder.join(&second)).unwrap();
    slow.write_all(&two[..two.len() / 2]).unwrap();
    wait_for(|| logged() == 1, &mut child);
    std::fs::write(folder.join(".pending"), three).unwrap();
    std::fs::rename(folder.join(".pending"), folder.join(third)).unwrap();
    wait_for(|| logged() == 2, &mut child);
    drop(slow);
    OpenOptions::new().append(true).open(folder.join(second)).unwrap().write_all(&two[two.len() / 2..]).unwrap();
    wait_for(|| logged() == 3, &mut child);
    // What never becomes whole gets its line, and does not stop the others.
    std::fs::write(folder.join("torn.jpg"), &two[..two.len() / 3]).unwrap();
    std::fs::write(folder.join(day(3).0), day(3).1).unwrap();
    wait_for(|| logged() == 4, &mut child);
    std::thread::sleep(std::time::Duration::from_secs(8));
    crate::support::signal("INT", child.id());
    let done = child.wait_with_output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    assert_eq!(done.status.code(), Some(3), "{out}{err}");
    assert!(out.starts_with("Watching; Ctrl-C ends it.\n"), "{out}");
    assert!(err.contains("torn.jpg") && err.contains("[photo-torn]") && err.lines().count() <= 2, "{err}");
    drop(log);
    let times: Vec<String> = standing(&house).into_iter().map(|(at, ..)| at[..10].to_string()).collect();
    assert_eq!(times, ["2026-03-10", "2026-03-11", "2026-03-12", "2026-03-13"]);
}

#[test]
fn only_a_folder_can_be_watched() {
    let house = week();
    house
        .run(&["read", "tank.jpg", "B=nitrite", "--watch"])
        .exit(2)
        .err_has("there is no folder to watch [usage]")
        .go();
    house.run(&["read", "week", "--every", "3"]).exit(2).err_has("--watch").go();
}
