//! What is said of mistakes in parts, coils, strings, probes and materials, word for word, and
//! where.

use super::said::{ROD, said_of, said_of_round};

#[test]
fn parts() {
    assert_eq!(
        said_of(
            "[[part]]\nrole = \"pole\"\nmaterial = 5\ncircle = { diameter = \"5 mm\" }\nat = [0]\n\
             anchor = \"topp\"\nturn = inf\ncolour = \"red\"\ncharge = \"up\"\n"
        ),
        [
            "4:1 a part has no `name` (add e.g. name = \"rod\")",
            "5:8 `role` cannot be `pole` (did you mean `pole piece`?)",
            "6:12 `material` must be text in quotes, not a number (write e.g. material = \
             \"steel 1010\")",
            "8:6 `at` needs two lengths, not 1 (write e.g. at = [\"0 mm\", \"2.5 mm\"])",
            "9:10 `anchor` cannot be `topp` (did you mean `top`?)",
            "10:8 `turn` must be a finite number (write it in plain digits)",
            "11:1 unknown key `colour` in a part (it takes `name`, `role`, `material`, \
             `rectangle`, `circle`, `polygon`, `at`, `anchor`, `turn`, `charge`, \
             `passes_through`, `current_A` or `repeat`)",
        ]
    );
    assert_eq!(
        said_of(&format!("{ROD}at = [0, 0]\n{ROD}at = [0, 0]\n")),
        ["11:8 the name `rod` is taken already (line 5 has it; give each one its own name)"]
    );
    assert_eq!(
        said_of(&format!("{ROD}at = [0, 0]\ncharge = \"up\"\ncurrent_A = 1e9\n")),
        [
            "10:1 `charge` is for magnets only (set role = \"magnet\", or leave `charge` out)",
            "11:13 `current_A` is 1000000000 A (it must lie between -1000000 and 1000000 A)",
        ]
    );
    assert_eq!(
        said_of("part = 3\n"),
        ["4:8 `part` must be a table (start each one with [[part]] on a line of its own)"]
    );
}

#[test]
fn charges() {
    let magnet = "[[part]]\nname = \"m\"\nrole = \"magnet\"\nmaterial = \"alnico 5\"\n\
                  circle = { diameter = \"5 mm\" }\nat = [0, 0]\n";
    let one = |charge: &str| said_of(&format!("{magnet}{charge}")).join("; ");
    assert_eq!(one(""), "5:8 part `m` has no `charge` (add e.g. charge = \"up\")");
    assert_eq!(one("charge = \"upp\""), "10:10 `charge` cannot be `upp` (did you mean `up`?)");
    assert_eq!(
        one("charge = \"outward\""),
        "10:10 `charge` can be outward or inward in axisymmetric sections only (use up, down, \
         left, right or an angle in degrees)"
    );
    assert_eq!(
        one("charge = \"90 grad\""),
        "10:10 `charge` is not an angle: \"90 grad\" (angles are in degrees, e.g. 90 or \"90 deg\")"
    );
    assert_eq!(
        said_of_round(&format!("{magnet}charge = 45")),
        ["9:10 `charge` must lie along the axis or straight away from it (use up, down, outward \
          or inward)"]
    );
}

#[test]
fn repeats() {
    let one = |repeat: &str| said_of(&format!("{ROD}at = [0, 0]\nrepeat = {{ {repeat} }}\n"));
    assert_eq!(
        one("count = 5000, pitch = \"-3 mm\""),
        [
            "10:20 `count` is 5000 (it must lie between 1 and 1000)",
            "10:34 `pitch` must be more than 0, not -3 mm (write a length above 0)",
        ]
    );
    assert_eq!(
        one("count = 2.5, pitch = \"3 mm\""),
        ["10:20 `count` must be a whole number, not 2.5 (write it without a fraction)"]
    );
    assert_eq!(
        one("count = 1000, pitch = \"3 m\"").len(),
        1,
        "a pitch of 3 m is beyond the sizes that make sense"
    );
    assert_eq!(
        one("count = 1000, pitch = \"9 mm\""),
        ["10:34 `pitch` makes a row of 8991 mm; places lie within 1 m (check the unit)"]
    );
    assert_eq!(
        one("count = 2, pitch = \"9 mm\", stagger = [0]"),
        ["10:49 `stagger` has 1 heights for 2 copies (give one height for each copy, from left \
          to right)"]
    );
    let mut many = String::new();
    for i in 0..3 {
        many += &ROD.replace("rod", &format!("r{i}"));
        many += "at = [0, 0]\nrepeat = { count = 900, pitch = \"1 mm\" }\n";
    }
    assert_eq!(
        said_of(&many),
        ["19:8 part `r2` and its copies make too many parts (at most 2000 are taken, copies \
          included)"]
    );
}

#[test]
fn parts_that_pass_through_others() {
    let part = |name: &str, through: &str| {
        format!("{}at = [0, 0]\npasses_through = {through}\n", ROD.replace("rod", name))
    };
    assert_eq!(
        said_of(&(part("pole", "\"plat\"") + &part("plate", "[\"plate\", 3]"))),
        [
            "10:18 no part is called `plat` (did you mean `plate`?)",
            "17:19 `plate` cannot pass through itself (name the other part)",
            "17:28 `passes_through` must be text in quotes, not a number (write e.g. [\"plate\"])",
        ]
    );
    assert_eq!(
        said_of(
            &(part("a", "\"b\"")
                + &part("b", "[\"c\", \"d\"]")
                + &part("c", "\"a\"")
                + &part("d", "[]"))
        ),
        ["10:18 parts pass through each other in a circle: `a`, `b`, `c`, `a` (only one of two \
          parts can displace the other)"]
    );
}

#[test]
fn round_sections() {
    let ring = |shape: &str| {
        said_of_round(&format!(
            "[[part]]\nname = \"p\"\nrole = \"body\"\nmaterial = \"brass\"\n{shape}\n"
        ))
        .join("; ")
    };
    assert_eq!(
        ring("rectangle = { x = [\"-3 mm\", \"-1 mm\"], y = [0, \"3 mm\"] }"),
        "4:8 part `p` lies at a negative radius, from -3 mm on (in an axisymmetric section x is \
         the radius: draw the right half only)"
    );
    assert_eq!(
        ring("circle = { diameter = \"5 mm\" }\nat = [\"0.1 mm\", 0]"),
        "4:8 part `p` stands off the axis: it reaches from -2.4 mm to 2.6 mm (centre it on x = 0 \
         with its full width, the same left and right, or keep all of it at x >= 0 for a ring)"
    );
    assert!(
        ring("polygon = [[\"-1 mm\", 0], [\"1 mm\", 0], [0, \"1 mm\"], [\"-1 mm\", \"1 mm\"]]")
            .contains("stands off the axis")
    );
    assert_eq!(
        ring(
            "circle = { diameter = \"5 mm\" }\nat = [0, 0]\nrepeat = { count = 2, pitch = \"6 mm\" }"
        ),
        "9:1 a repeat across the axis makes no round part (repeat along = \"y\", or use a planar \
         section)"
    );
    assert_eq!(
        ring("circle = { diameter = \"5 mm\" }\nat = [0, 0]\ncurrent_A = 1"),
        "9:1 `current_A` is for planar sections only (a current around the axis is a coil)"
    );
    assert_eq!(ring("rectangle = { x = [0, \"2 mm\"], y = [0, \"3 mm\"] }"), "");
    assert_eq!(
        said_of_round("[[probe]]\nname = \"p\"\nat = [\"-1 mm\", 0]\n"),
        ["5:6 `at` lies at a negative radius (in an axisymmetric section x is the radius, 0 on \
          the axis)"]
    );
}

#[test]
fn coils() {
    let right = "window = { rectangle = { x = [\"3 mm\", \"7 mm\"], y = [0, \"9 mm\"] }";
    let planar = |lines: &str| said_of(&format!("[[coil]]\nname = \"c\"\n{lines}\n")).join("; ");
    assert_eq!(
        planar(&format!("turns = 0\nwire = \"99 awg\"\n{right}, mirror = 0 }}")),
        "6:9 `turns` must be more than 0, not 0 (write a number above 0); 7:8 `wire` is not a \
         wire gauge: \"99 awg\" (gauges run from 0 to 60, e.g. \"42 awg\"; or give the bare \
         diameter, e.g. \"0.063 mm\")"
    );
    assert_eq!(
        planar(&format!("turns = 1e9\n{right}, mirror = \"4 mm\" }}")),
        "6:9 `turns` is 1000000000 turns (at most 1000000 turns are taken; check the unit); 7:76 \
         `mirror` cuts the window, which reaches from 3 mm to 7 mm (the window must lie on one \
         side of the line it is mirrored about)"
    );
    assert_eq!(
        planar(&format!("turns = 10\n{right} }}")),
        "5:8 coil `c` has no window of sense `in` (add its return side, or mirror = \"0 mm\" in \
         the window for its mirror image)"
    );
    assert_eq!(
        planar(&format!("turns = 10\n{right}, mirror = 0, turns = 9 }}")),
        "6:9 `turns` is 10, but the windows of sense `out` state 9 (leave `turns` out of the \
         windows to share them by area)"
    );
    assert_eq!(
        planar("turns = 10\nwindow = []"),
        "7:10 `window` holds no window (write e.g. window = { rectangle = { x = [\"3 mm\", \
         \"7 mm\"], y = [\"-13 mm\", \"-2 mm\"] } })"
    );
    assert_eq!(
        planar(&format!("turns = 10\n{right}, sense = \"up\" }}")),
        "7:75 `sense` cannot be `up` (it takes `out` or `in`)"
    );
    let round =
        |lines: &str| said_of_round(&format!("[[coil]]\nname = \"c\"\n{lines}\n")).join("; ");
    assert_eq!(
        round(&format!("turns = 10\n{right}, mirror = 0 }}")),
        "6:67 `mirror` is for planar sections only (a round coil needs one window: leave \
         `mirror` out)"
    );
    assert_eq!(
        round(
            "turns = 10\nwindow = { rectangle = { x = [\"-1 mm\", \"7 mm\"], y = [0, \"9 mm\"] } }"
        ),
        "6:10 the window reaches a negative radius, -1 mm (in an axisymmetric section x is the \
         radius: draw the right half only)"
    );
    let window = |sense: &str| {
        format!("{{ circle = {{ diameter = \"1 mm\" }}, at = [\"9 mm\", 0], sense = \"{sense}\" }}")
    };
    assert_eq!(
        round(&format!(
            "turns = 10\nwindow = [{}, {}]",
            window("clockwise"),
            window("counter-clockwise")
        )),
        "4:8 coil `c` has windows of both senses (give each window its own `turns`)"
    );
}

#[test]
fn strings() {
    let one = |lines: &str| {
        said_of(&format!(
            "{ROD}at = [0, 0]\nrepeat = {{ count = 2, pitch = \"9 mm\" }}\n\
             [[string]]\nname = \"E\"\n{lines}\n"
        ))
        .join("; ")
    };
    assert_eq!(
        one("gauge = \"0.01\"\nover = \"rad 1\"\ngap = \"0 mm\""),
        "13:9 `gauge` has no unit: \"0.01\" (lengths take mm, cm, m, in, mil or thou: \
         \"0.01 mm\" or \"0.01 in\"?); 14:8 no part is called `rad 1` (did you mean `rod 1`?); \
         15:7 `gap` must be more than 0, not 0 mm (write a length above 0)"
    );
    assert_eq!(
        one("gauge = \"1 mm\"\nover = \"rod\"\ngap = \"1 mm\""),
        "14:8 `over` names `rod`, which is repeated (name one copy, `rod 1` to `rod 2`)"
    );
    assert_eq!(
        one("gauge = \"30 mm\"\nheight = \"1 mm\"\ngap = \"1 mm\""),
        "13:9 `gauge` is 30 mm; sizes lie between 0.001 mm and 20 mm (check the unit); 14:1 \
         string `E` has both `gap` and `height` (keep one: `gap` is clear distance to the pole, \
         `height` that of the axis)"
    );
    assert_eq!(
        one("gauge = \"1 mm\"\ngap = \"1 mm\""),
        "12:8 string `E` has a `gap` but no pole (add e.g. over = \"rod\", the part whose face \
         the gap is measured from)"
    );
    assert_eq!(
        one("gauge = \"1 mm\""),
        "12:8 string `E` has no place (add over = \"rod\" and gap = \"2.5 mm\", or height = \
         \"3 mm\" of its axis)"
    );
    assert_eq!(
        one("gauge = \"1 mm\"\nheight = \"9 mm\"\nwrap = \"nickel wrap\""),
        "12:8 string `E` has no `core_diameter` (add e.g. core_diameter = \"0.017 in\")"
    );
    assert_eq!(
        one("gauge = \"1 mm\"\nheight = \"9 mm\"\ncore_diameter = \"0.5 mm\""),
        "15:1 string `E` has a `core_diameter` but no `wrap` (add e.g. wrap = \"nickel wrap\"; a \
         plain string needs neither)"
    );
    assert_eq!(
        one("gauge = \"1 mm\"\nheight = \"9 mm\"\nwrap = \"x\"\ncore_diameter = \"1 mm\""),
        "16:17 `core_diameter` is 1 mm, no less than the gauge of 1 mm (the gauge is the outer \
         diameter, wrap included)"
    );
}

#[test]
fn probes() {
    let one = |lines: &str| said_of(&format!("[[probe]]\nname = \"p\"\n{lines}\n")).join("; ");
    assert_eq!(
        one(""),
        "5:8 probe `p` has no place (add at = [\"0 mm\", \"2 mm\"] for a point, or `from`, `to` \
         and `samples` for a line)"
    );
    assert_eq!(
        one("at = [0, 0]\nsamples = 3"),
        "7:1 `samples` does not go with `at`: a probe is a point or a line (leave it out)"
    );
    assert_eq!(
        one("from = [0, 0]\nsamples = 1"),
        "5:8 probe `p` has no `to` (add e.g. to = [\"5 mm\", \"2 mm\"]); 7:11 `samples` is 1 (it \
         must lie between 2 and 100000)"
    );
    assert_eq!(
        one("from = [0, 0]\nto = [0, 0]\nsamples = 2"),
        "5:8 probe `p` starts where it ends (use `at` for a single point)"
    );
    let line = |name: &str| {
        format!(
            "[[probe]]\nname = \"{name}\"\nfrom = [0, 0]\nto = [0, \"1 mm\"]\nsamples = 60000\n"
        )
    };
    assert_eq!(
        said_of(&(line("a") + &line("b"))),
        ["13:11 `samples` makes too many points with the other probes (at most 100000 are taken \
          in all)"]
    );
}

#[test]
fn materials() {
    let one = |lines: &str| said_of(&format!("[[material]]\nname = \"m\"\n{lines}\n")).join("; ");
    assert_eq!(one("law = \"linaer\""), "6:7 `law` cannot be `linaer` (did you mean `linear`?)");
    assert_eq!(
        one("law = \"linear\"\npermeability = 0.5\nremanence_T = 1"),
        "7:16 `permeability` is 0.5 (it must lie between 1 and 1000000); 8:1 `remanence_T` does \
         not belong to the law `linear`, which takes `permeability` (leave it out)"
    );
    assert_eq!(
        one("law = \"curve\"\nfield_strength_A_per_m = [0, 100, 100]\nflux_density_T = [0, 1]"),
        "7:35 `field_strength_A_per_m` must rise: 100 follows 100 (list the points in rising \
         order)"
    );
    assert_eq!(
        one("law = \"curve\"\nfield_strength_A_per_m = [0, 100, 200]\nflux_density_T = [0, 1]"),
        "8:18 `flux_density_T` has 2 points where `field_strength_A_per_m` has 3 (give one value \
         for each point)"
    );
    assert_eq!(
        one("law = \"knee magnet\"\nremanence_T = 128\nrecoil_permeability = 1.05"),
        "5:8 material `m` has no `intrinsic_coercivity_kA_per_m` (add e.g. \
         intrinsic_coercivity_kA_per_m = 51); 7:15 `remanence_T` is 128 T (at most 10 T are \
         taken; check the unit)"
    );
}
