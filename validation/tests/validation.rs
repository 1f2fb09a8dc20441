//! Every number of every case within its tolerance, and `VALIDATION.md` as it is now.

use lodestring_validation::measure::run;
use lodestring_validation::shipped::CASES;
use lodestring_validation::table::document;

#[test]
fn every_number_is_within_its_tolerance_and_the_table_is_up_to_date() {
    let ended: Vec<_> = CASES.iter().map(|shipped| (shipped, run(shipped))).collect();
    for (shipped, outcome) in &ended {
        let outcome = outcome.as_ref().unwrap_or_else(|e| panic!("{}: {e}", shipped.name));
        assert!(!outcome.rows.is_empty(), "{} compares nothing", shipped.name);
        for row in &outcome.rows {
            assert!(row.within(), "{}: {row:?}", shipped.name);
        }
    }
    let kept = include_str!("../VALIDATION.md");
    assert!(
        kept == document(&ended),
        "VALIDATION.md is out of date: run `cargo run -p lodestring-validation`"
    );
}
