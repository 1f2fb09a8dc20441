//! What is said of mistakes in settings, lengths, shapes and syntax, word for word, and where.

use super::said::{ROD, said, said_of, said_of_round};

/// A part of this shape, on line 7 from column 1, standing at 0, 0.
fn said_of_shape(shape: &str) -> Vec<String> {
    said_of(&format!(
        "[[part]]\nname = \"p\"\nrole = \"body\"\n{shape}\nmaterial = \"brass\"\nat = [0, 0]\n"
    ))
}

#[test]
fn an_empty_file() {
    assert_eq!(
        said(""),
        [
            "1:1 the file has no `format` (add e.g. format = 1)",
            "1:1 the file has no `symmetry` (add e.g. symmetry = \"planar\")"
        ]
    );
}

#[test]
fn settings() {
    assert_eq!(
        said(
            "format = 2\ntitel = \"x\"\nsymmetry = \"round\"\ndepth = 60\ntemperature_C = \"20\"\n\
             applied_field_T = [0, nan]\nouter_radius = \"200 m\"\nmesh_scale = 0\n"
        ),
        [
            "1:10 `format` is 2, which is not known here (this version reads format = 1)",
            "2:1 unknown key `titel` in the file (did you mean `title`?)",
            "3:12 `symmetry` cannot be `round` (it takes `planar` or `axisymmetric`)",
            "4:9 `depth` has no unit: 60 (write it as text with its unit, e.g. \"60 mm\")",
            "5:17 `temperature_C` must be a number, not text (write e.g. temperature_C = 1.5)",
            "6:23 `applied_field_T` must be a finite number (write it in plain digits)",
            "7:16 `outer_radius` is 200000 mm; sizes lie between 0.001 mm and 10000 mm \
             (check the unit)",
            "8:14 `mesh_scale` is 0 (it must lie between 0.1 and 10)",
        ]
    );
}

#[test]
fn settings_of_the_other_symmetry() {
    assert_eq!(
        said_of_round("strings_run = \"through\"\ndepth = \"60 mm\"\napplied_field_T = [0.1, 0]\n"),
        [
            "3:15 `strings_run` cannot be `through` in an axisymmetric section (leave it out: \
             there a string always crosses the axis at right angles)",
            "4:1 `depth` is for planar sections only (leave it out)",
            "5:20 `applied_field_T` must lie along the axis (in an axisymmetric section write \
             [0, B])",
        ]
    );
    assert_eq!(
        said(
            "format = 1\nsymmetry = \"planar\"\n[[string]]\nname = \"E\"\ngauge = \"1 mm\"\n\
              height = \"3 mm\"\n"
        ),
        ["3:3 the file has strings but no `strings_run` (add strings_run = \"in plane\" (along \
          the x axis) or \"through\" (the section shows them as circles) before the first table)"]
    );
}

#[test]
fn lengths() {
    let width = |typed: &str| {
        let said = said_of_shape(&format!("rectangle = {{ height = \"1 mm\", width = {typed} }}"));
        assert_eq!(said.len(), 1, "{said:?}");
        said[0].clone()
    };
    assert_eq!(
        width("4.8"),
        "7:40 `width` has no unit: 4.8 (write it as text with its unit, e.g. \"4.8 mm\")"
    );
    assert_eq!(
        width("\"4.8 mmm\""),
        "7:40 `width` has an unknown unit `mmm` (did you mean `mm`? lengths take mm, cm, m, in, \
         mil or thou)"
    );
    assert_eq!(
        width("\"-4.8 mm\""),
        "7:40 `width` must be more than 0, not -4.8 mm (write a length above 0)"
    );
    assert_eq!(width("0"), "7:40 `width` must be more than 0, not 0 mm (write a length above 0)");
    assert_eq!(
        width("\"48 m\""),
        "7:40 `width` is 48000 mm; sizes lie between 0.001 mm and 1000 mm (check the unit)"
    );
    assert_eq!(
        width("\"1e-9 mm\""),
        "7:40 `width` is 1.00e-9 mm; sizes lie between 0.001 mm and 1000 mm (check the unit)"
    );
    assert_eq!(
        width("\"nan mm\""),
        "7:40 `width` is not a number with a unit: \"nan mm\" (write e.g. \"4.8 mm\", \
         \"0.187 in\" or \"3/16 in\")"
    );
    assert_eq!(width("inf"), "7:40 `width` must be a finite number (write it in plain digits)");
    assert_eq!(
        width("[1]"),
        "7:40 `width` must be a length, not a list (write e.g. width = \"4.8 mm\")"
    );
    assert_eq!(
        said_of(&format!("{ROD}at = [\"0 mm\", \"-3 m\"]\n")),
        ["9:15 `at` is -3000 mm; places lie within 1 m (check the unit)"]
    );
}

#[test]
fn shapes() {
    let one = |shape: &str| {
        let said = said_of_shape(shape);
        assert_eq!(said.len(), 1, "{said:?}");
        said[0].clone()
    };
    assert_eq!(
        one("turn = 0"),
        "5:8 part `p` has no shape (add e.g. rectangle = { width = \"4.8 mm\", height = \
         \"17 mm\" }; or a circle or a polygon)"
    );
    assert_eq!(
        said_of_shape("circle = { diameter = 3 }\npolygon = 4"),
        [
            "7:23 `diameter` has no unit: 3 (write it as text with its unit, e.g. \"3 mm\")",
            "8:1 part `p` has a second shape, `polygon` (keep one of `rectangle`, `circle` or \
             `polygon`)",
            "8:11 `polygon` must be a list, not a number (write e.g. polygon = [[\"0 mm\", \
             \"0 mm\"], [\"5 mm\", \"0 mm\"], [\"0 mm\", \"3 mm\"]])",
        ]
    );
    assert_eq!(
        one("rectangle = { width = \"4 mm\", heigth = \"17 mm\" }"),
        "7:31 unknown key `heigth` in the rectangle (did you mean `height`?)"
    );
    assert_eq!(
        one("rectangle = { width = \"4 mm\", height = \"1 mm\", bevel = \"0.6 mm\" }"),
        "7:56 `bevel` of 0.6 mm does not fit the height of 1 mm (two corners share a side: \
         together they take at most the whole height)"
    );
    assert_eq!(
        one("rectangle = { width = \"4 mm\", height = \"9 mm\", round_top = \"2.1 mm\" }"),
        "7:60 `round_top` of 2.1 mm does not fit the width of 4 mm (two corners share a side: \
         together they take at most the whole width)"
    );
    assert_eq!(
        one(
            "rectangle = { width = \"4 mm\", height = \"9 mm\", round = \"1 mm\", bevel = \"1 mm\" }"
        ),
        "7:64 the rectangle has both `round` and `bevel` (keep one of them)"
    );
    assert_eq!(
        said_of_shape("rectangle = { width = \"4 mm\", x = [\"7 mm\", \"3 mm\"] }"),
        [
            "7:13 the rectangle has no `y` (add e.g. y = [\"-13 mm\", \"-2 mm\"])",
            "7:15 `width` does not go with `x` and `y`, which say from where to where it reaches \
             (leave it out)",
            "7:35 `x` runs from 7 mm to 3 mm (write the smaller one first)",
        ]
    );
    assert_eq!(
        one("rectangle = { x = [0, \"3 mm\"], y = [0, \"3 mm\"] }"),
        "9:1 `at` is not needed: `x` and `y` of the rectangle say where it stands (leave it out)"
    );
    assert_eq!(said_of(ROD), ["5:8 part `rod` has no `at` (add e.g. at = [\"0 mm\", \"0 mm\"])"]);
}

#[test]
fn polygons() {
    let one = |corners: &str| {
        let said = said_of_shape(&format!("polygon = [{corners}]"));
        assert_eq!(said.len(), 1, "{said:?}");
        said[0].clone()
    };
    assert_eq!(
        one("[0, 0], [0, \"1 mm\"]"),
        "7:11 `polygon` has 2 corners (three corners or more, or two and an arc)"
    );
    assert_eq!(
        one("[0, 0], [0, \"1 mm\"], [0, \"1 mm\"], [\"1 mm\", 0]"),
        "7:33 `polygon` has the same corner twice in a row (leave one out; the last corner joins \
         the first by itself)"
    );
    assert_eq!(
        one("[0, 0], { through = [0, \"1 mm\"] }, [0, \"2 mm\"], [\"1 mm\", 0]"),
        "7:20 `polygon` has an arc whose three points lie on one line (leave the arc out for a \
         straight side)"
    );
    assert_eq!(
        one("{ through = [0, \"1 mm\"] }, [0, \"2 mm\"], [\"1 mm\", 0], [0, 0]"),
        "7:12 `polygon` has an arc that does not follow a corner (one { through = ... } between \
         two corners)"
    );
    assert_eq!(
        one("[0, 0], [0, \"1 mm\"], [0, \"3 mm\"], [0, \"2 mm\"]"),
        "7:11 `polygon` encloses no area (list the corners in order around it)"
    );
    assert_eq!(
        one("[0, 0], [0, \"1 mm\", 0], [\"1 mm\", 0]"),
        "7:20 `polygon` needs two lengths, not 3 (write e.g. [\"0 mm\", \"2.5 mm\"])"
    );
    let many: Vec<String> = (0..1001).map(|i| format!("[\"{i} um\", 0]")).collect();
    assert!(said_of_shape(&format!("polygon = [{}]", many.join(", ")))[0].contains("unknown unit"));
    let many: Vec<String> = (0..1001).map(|i| format!("[\"0.{i:04} mm\", 0]")).collect();
    assert_eq!(one(&many.join(", ")), "7:11 `polygon` has 1001 corners (at most 1000 are taken)");
}

#[test]
fn broken_syntax_does_not_hide_the_rest() {
    assert_eq!(
        said(
            "format = 1\nsymmetry = \"planar\"\ntitle = one rod\n[[part]]\nname = \"rod\nrole = \
             \"magnat\"\nat = [\"0 mm\", \"0 mm\"\n"
        ),
        [
            "3:9 cannot read this: string values must be quoted, expected literal string (put \
             text in quotes, e.g. \"steel 1010\" or \"4.8 mm\")",
            "5:12 cannot read this: invalid basic string, expected `\"` (close the text with a \
             quote on the same line)",
            "6:8 `role` cannot be `magnat` (did you mean `magnet`?)",
            "7:21 cannot read this: unclosed array, expected `]` (close it on the same line or \
             further down)",
        ]
    );
}

#[test]
fn names_that_cannot_be_printed() {
    let named = |name: &str| said_of(&format!("{}at = [0, 0]\n", ROD.replace("rod", name)));
    assert_eq!(
        named("\\u001b[31m"),
        ["5:8 `name` holds characters that cannot be printed (write e.g. name = \"rod\")"]
    );
    assert_eq!(named(""), ["5:8 `name` is empty (write e.g. name = \"rod\")"]);
    assert_eq!(named(" a"), ["5:8 `name` has blanks at its ends (write e.g. name = \"rod\")"]);
    assert_eq!(
        named(&"a".repeat(65)),
        ["5:8 `name` is longer than 64 characters (write e.g. name = \"rod\")"]
    );
}

#[test]
fn files_that_are_too_long() {
    assert_eq!(
        said(&"#".repeat(1_000_001)),
        ["- the file has 1000001 bytes; at most 1000000 are read (use `repeat` for rows of parts)"]
    );
}
