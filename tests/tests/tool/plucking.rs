//! `pull` and `signal`: strings of an instrument over a section.

use std::fs;

use serde_json::Value;

use super::{Run, repository, run, section, tool};

const ROD: &str = "meshes/rod.toml";
const NECK: &str = "meshes/instruments/light-neck.toml";

fn json(arguments: &[&str]) -> Value {
    let Run { out, err, code } = run(&[arguments, &["--format", "json"]].concat());
    assert_eq!((err.as_str(), code), ("", 0), "{arguments:?}");
    serde_json::from_str(&out).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

/// The head of a WAV file, field by field as any reader takes it (IBM and Microsoft, Multimedia
/// Programming Interface and Data Specifications 1.0, 1991): one channel of 16 bits.
fn assert_wav(bytes: &[u8], rate: u32, samples: u32) {
    let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    let half = |at: usize| u16::from_le_bytes(bytes[at..at + 2].try_into().unwrap());
    let data = 2 * samples;
    assert_eq!((&bytes[..4], word(4), &bytes[8..16]), (&b"RIFF"[..], 36 + data, &b"WAVEfmt "[..]));
    // Length of the format, plain samples, channels.
    assert_eq!((word(16), half(20), half(22)), (16, 1, 1));
    // Samples and bytes a second, bytes and bits of a sample.
    assert_eq!((word(24), word(28), half(32), half(34)), (rate, 2 * rate, 2, 16));
    assert_eq!((&bytes[36..40], word(40)), (&b"data"[..], data));
    assert_eq!(bytes.len(), 44 + data as usize);
    // The sound fills the range.
    let loudest = bytes[44..].chunks(2).map(|s| i16::from_le_bytes([s[0], s[1]]).unsigned_abs());
    assert_eq!(loudest.max(), Some(32_767));
}

#[test]
fn pull_tells_strings_tuning_clearance_partials_and_gaps() {
    let arguments = ["pull", ROD, "--instrument", NECK, "--gaps", "2 mm, 4 mm", "--partials", "4"];
    let told = json(&arguments);
    let string = &told["strings"][0];
    assert_eq!(string["name"], "G3");
    let pull = number(&string["pull_up_mN"]);
    assert!((-60.0..-5.0).contains(&pull), "{pull}");
    assert!(number(&string["gradient_upright_N_per_m"]) > 0.0);
    assert!(number(&string["gradient_across_N_per_m"]) < 0.0);
    let sag = -pull * 1e-3 * 0.16 * (0.6477 - 0.16) / (number(&string["tension_N"]) * 0.6477);
    // Figures are written to ten digits.
    assert!((number(&string["sag_mm"]) / (sag * 1e3) - 1.0).abs() < 1e-8);
    let partials = told["partials"].as_array().unwrap();
    assert_eq!(partials.len(), 4);
    // A quarter of the scale is 161.9 mm: the fourth partial all but has its node over the pickup.
    let cents = |i: usize| number(&partials[i]["detuning_upright_cent"]);
    assert!(cents(0) < -1.0 && cents(3).abs() < 0.01 * cents(0).abs(), "{partials:?}");
    let frets = told["frets"].as_array().unwrap();
    assert_eq!(frets.len(), 23);
    // By the formula; the seventh is a fifth up.
    let place = 647.7 * (1.0 - 2.0_f64.powf(-7.0 / 12.0));
    assert!((number(&frets[7]["from_nut_mm"]) - place).abs() < 1e-6, "{}", frets[7]);
    assert!(number(&frets[7]["gap_mm"]) < number(&frets[0]["gap_mm"]));
    let gaps = told["gaps"].as_array().unwrap();
    assert_eq!(gaps.len(), 2);
    // The section's own gap is among them.
    assert!((number(&gaps[0]["pull_up_mN"]) / pull - 1.0).abs() < 1e-6);
    assert!(number(&gaps[1]["pull_up_mN"]) > pull);
    // The section and the instrument differ in nothing a note is due for: 0.43 mm and 0.017 in.
    let limits = told["limits"].to_string();
    assert!(!limits.contains("gauge"), "{limits}");
}

#[test]
fn pull_reads_well() {
    let Run { out, err, code } = run(&["pull", ROD, "--instrument", NECK]);
    assert_eq!((err.as_str(), code), ("", 0));
    for title in ["Strings\n", "Tuning:", "Clearance:", "Partials of", "Pull against the gap"] {
        assert!(out.contains(title), "{title} not in\n{out}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
    let csv = run(&["pull", ROD, "--instrument", NECK, "--format", "csv"]).out;
    assert!(csv.starts_with("kind,name,quantity,unit,value,error\n"));
}

#[test]
fn signal_tells_harmonics_and_writes_the_sound() {
    let folder = tempfile::tempdir().unwrap();
    let (wav, csv) = (folder.path().join("g3.wav"), folder.path().join("g3.csv"));
    let (wav, csv) = (wav.to_str().unwrap(), csv.to_str().unwrap());
    let sound = ["--wav", wav, "--voltage", csv, "--duration", "0.1", "--rate", "16000"];
    let circuit = ["--resistance", "5700", "--load", "250000"];
    let base = ["signal", ROD, "--instrument", NECK];
    let told = json(&[&base[..], &sound, &circuit, &["--height", "0.3 mm"]].concat());
    assert!((number(&told["pitch_Hz"]) - 195.998).abs() < 0.01);
    assert_eq!(told["harmonics"].as_array().unwrap().len(), 12);
    let resonance = number(&told["resonance_Hz"]);
    assert!((1e3..50e3).contains(&resonance), "{resonance}");
    let rows = told["distortion"].as_array().unwrap();
    let second = |i: usize| number(&rows[i]["second_percent"]);
    // The second harmonic grows with the amplitude: 0.1, 0.2, 0.5 mm.
    assert!((second(1) / second(0) - 2.0).abs() < 0.02 && second(2) > 2.0 * second(1));
    let text = fs::read_to_string(csv).unwrap();
    assert_eq!(text.lines().count(), 1601);
    let peak = text
        .lines()
        .skip(1)
        .map(|line| line.split_once(',').unwrap().1.parse::<f64>().unwrap().abs())
        .fold(0.0, f64::max);
    assert!(peak > 1.0 && peak < 1000.0, "{peak} mV");
    assert_wav(&fs::read(wav).unwrap(), 16_000, 1600);
    // At the twelfth fret everything is an octave up and the nodes are elsewhere.
    let octave = json(&[&base[..], &["--fret", "12", "--height", "0.05 mm"]].concat());
    assert!((number(&octave["pitch_Hz"]) / number(&told["pitch_Hz"]) - 2.0).abs() < 1e-9);
    assert!(number(&octave["gap_mm"]) < number(&told["gap_mm"]));
}

/// Wound and plain strings side by side over a blade, the thickest first: every one can be brought to
/// the closest gap, and plucked.
#[test]
fn a_whole_set_over_a_blade() {
    let six = "meshes/blade-six-strings.toml";
    let told = json(&["pull", six, "--instrument", NECK, "--partials", "2", "--gaps", "2 mm"]);
    assert_eq!(told["strings"].as_array().unwrap().len(), 6);
    for string in told["tuning"].as_array().unwrap() {
        let nearest = number(&string["nearest_gap_mm"]);
        assert!((0.3..10.0).contains(&nearest), "{string}");
    }
    let told = json(&["signal", six, "--instrument", NECK, "--string", "E2"]);
    assert!(number(&told["level_mV"]) > 0.1, "{told}");
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    for command in
        [&["pull", ROD, "--instrument", NECK][..], &["signal", ROD, "--instrument", NECK]]
    {
        let on = |threads: &str| run(&[command, &["--threads", threads]].concat()).out;
        assert_eq!(on("1"), on("3"), "{command:?}");
    }
}

/// The strings over a row of poles: what `solve` tells of them, on the instrument.
#[test]
fn a_row_of_poles_is_pulled_and_plucked() {
    const ROW: &str = "meshes/six-rods-row.toml";
    let solved = json(&["solve", ROW]);
    let told = json(&["pull", ROW, "--instrument", NECK, "--gaps", "2.5 mm"]);
    let alike = |a: &Value, b: &Value, key: &str| {
        let (a, b) = (number(&a[key]), number(&b[key]));
        // The field is sampled along another line: both are good to some 1e-3.
        assert!((a / b - 1.0).abs() < 3e-3, "{key}: {a} {b}");
    };
    let strings = told["strings"].as_array().unwrap();
    assert_eq!(strings.len(), 6);
    for (i, string) in strings.iter().enumerate() {
        alike(string, &solved["strings"][i], "pull_up_mN");
        let error = number(&string["pull_up_error_mN"]) / number(&string["pull_up_mN"]).abs();
        // The mesh is made for 1e-3; an error is there and is not far from it.
        assert!((1e-6..1e-2).contains(&error), "{error}");
        assert!(number(&told["tuning"][i]["detuning_upright_cent"]) < 0.0);
    }
    let signal = json(&["signal", ROW, "--instrument", NECK, "--string", "D3"]);
    alike(&signal, &solved["linkage_changes"][2], "linkage_change_up_uWb_per_mm");
    assert!(number(&signal["level_mV"]) > 1.0);
}

#[test]
fn mistakes_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let other = at("other.toml", &section("rod.toml").replace("\"G3\"", "\"H3\""));
    let high = at(
        "high.toml",
        &section("rod.toml")
            .replace("gap = \"2 mm\"", "height = \"3 mm\"")
            .replace("over = \"rod\"\n", ""),
    );
    let bad = at("bad.toml", "format = 1\nscale = \"25 yd\"\n");
    let wav = folder.path().join("none/x.wav").to_str().unwrap().to_owned();
    let cases: [(&[&str], i32, &str); 16] = [
        (&["pull", ROD], 2, "--instrument"),
        (&["pull", ROD, "--instrument", "none.toml"], 6, "there is no such file"),
        (&["pull", ROD, "--instrument", &bad], 3, "unknown unit `yd`"),
        (&["pull", &other, "--instrument", NECK], 3, "the instrument has no string `H3`"),
        (&["pull", &high, "--instrument", NECK], 3, "has no gap to a pole"),
        (&["pull", "meshes/six-rods.toml", "--instrument", NECK], 2, "pass through the plane"),
        (&["pull", ROD, "--instrument", NECK, "--gaps", "1"], 2, "has no unit"),
        (&["pull", ROD, "--instrument", NECK, "--limit=-1"], 2, "more than 0"),
        (&["pull", ROD, "--instrument", NECK, "--closest", "20 mm"], 2, "less than --farthest"),
        (&["signal", ROD, "--instrument", NECK, "--string", "E4"], 2, "there is G3"),
        (&["signal", ROD, "--instrument", NECK, "--coil", "x"], 2, "there is coil"),
        (&["signal", ROD, "--instrument", NECK, "--fret", "22"], 2, "would strike the pole"),
        (&["signal", ROD, "--instrument", NECK, "--height", "9 mm"], 2, "would strike the pole"),
        (&["signal", ROD, "--instrument", NECK, "--pluck", "1 m"], 2, "the pluck at 1000.0 mm"),
        (&["signal", ROD, "--instrument", NECK, "--decay", "0"], 2, "more than 0"),
        (&["signal", ROD, "--instrument", NECK, "--wav", &wav], 6, "cannot write"),
    ];
    for (arguments, code, part) in cases {
        let mut command = tool();
        let run = Run::of(command.current_dir(repository()).args(arguments));
        assert_eq!(run.code, code, "{arguments:?}: {}", run.err);
        assert!(run.err.contains(part), "{arguments:?}: {}", run.err);
        assert_eq!(run.out, "", "{arguments:?}");
    }
}
