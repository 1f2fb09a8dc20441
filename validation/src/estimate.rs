//! The error that a report gives to its own numbers, looked up for the numbers of a case.
//!
//! In: the report of [`lodestring::accuracy::solve`]. Out: errors in SI, as `solve` prints them; of
//! a vector sqrt(e_x^2 + e_y^2). Infinite where a number does not settle as the mesh is refined.

use lodestring::report::record::{Item, Report};

/// Error of the vector (or the number) that the columns `names` of `item` make up; `None` where the
/// report gives none.
pub fn of_item(item: &Item, names: &[&str]) -> Option<f64> {
    let errors: Vec<f64> =
        names.iter().filter_map(|name| item.get(name).and_then(|number| number.error)).collect();
    if errors.is_empty() { None } else { Some(errors.iter().map(|e| e * e).sum::<f64>().sqrt()) }
}

/// As [`of_item`], of the `nth` item of `group` called `name`.
pub fn of(report: &Report, group: &str, name: &str, nth: usize, names: &[&str]) -> Option<f64> {
    let mut alike = report.items(group).iter().filter(|item| item.get_word("name") == name);
    of_item(alike.nth(nth)?, names)
}

/// As [`of_item`], of the body that has `member` among its own.
pub fn of_body(report: &Report, member: &str, names: &[&str]) -> Option<f64> {
    let has = |item: &&Item| item.get_word("name").split(" + ").any(|one| one == member);
    of_item(report.items("forces").iter().find(has)?, names)
}

#[cfg(test)]
mod tests {
    use lodestring::report::record::Group;
    use lodestring::report::unit::{N_PER_M, T};

    use super::*;

    fn item(name: &str, errors: [Option<f64>; 2]) -> Item {
        let mut item = Item::new(name).number("x", T, 1.0).number("y", N_PER_M, 1.0);
        for (number, error) in item.numbers.iter_mut().zip(errors) {
            number.error = error;
        }
        item
    }

    #[test]
    fn parts_of_a_vector_add_as_squares_and_none_is_none() {
        assert_eq!(of_item(&item("a", [Some(3.0), Some(4.0)]), &["x", "y"]), Some(5.0));
        assert_eq!(of_item(&item("a", [Some(3.0), None]), &["x", "y"]), Some(3.0));
        assert_eq!(of_item(&item("a", [None, None]), &["x", "y"]), None);
        let unsettled = item("a", [Some(f64::INFINITY), Some(4.0)]);
        assert_eq!(of_item(&unsettled, &["x", "y"]), Some(f64::INFINITY));
    }

    #[test]
    fn the_second_of_a_name_and_a_member_of_a_body_are_found() {
        let items = vec![
            item("line", [Some(1.0), None]),
            item("other", [Some(2.0), None]),
            item("line", [Some(3.0), None]),
            item("rod + disc", [Some(4.0), None]),
        ];
        let report = Report { groups: vec![Group { key: "forces", items }], ..Report::default() };
        assert_eq!(of(&report, "forces", "line", 1, &["x"]), Some(3.0));
        assert_eq!(of(&report, "forces", "line", 2, &["x"]), None);
        assert_eq!(of_body(&report, "disc", &["x"]), Some(4.0));
        assert_eq!(of_body(&report, "di", &["x"]), None);
    }
}
