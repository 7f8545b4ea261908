//! The program from outside: what is typed, what is said, what is written.

use crate::support::House;
use crate::support::shot::Shot;

#[test]
fn try_it() {
    let house = House::new();
    house.lay("empty.jpg", Shot::new().jpeg());
    house.lay("a.jpg", Shot::new().taken("2026:03:01 18:30:00", Some("+01:00")).dyed("A", 0.0).dyed("C", 2.0).jpeg());
    house.lay("b.jpg", Shot::new().taken("2026:03:01 18:30:00", Some("+01:00")).dyed("A", 1.0).dyed("C", 5.0).jpeg());
    house.lay("c.jpg", Shot::new().taken("2026:03:01 18:30:00", None).dyed("B", 3.0).jpeg());
    std::fs::create_dir_all("/tmp/try/shots").unwrap();
    for n in ["empty.jpg", "a.jpg", "b.jpg", "c.jpg"] {
        std::fs::copy(house.path("desk").join(n), format!("/tmp/try/shots/{n}")).unwrap();
    }
}
