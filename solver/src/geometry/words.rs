//! Lengths and areas as people write them, for messages.

/// A length in mm, or in um where that reads better: "0.43 mm", "0.8 um", "-0.12 mm".
pub(crate) fn length(metres: f64) -> String {
    let mm = metres * 1e3;
    if mm != 0.0 && mm.abs() < 0.01 {
        format!("{} um", three_digits(mm * 1e3))
    } else {
        format!("{} mm", three_digits(mm))
    }
}

/// An area in mm2.
pub(crate) fn area(square_metres: f64) -> String {
    format!("{} mm2", three_digits(square_metres * 1e6))
}

/// At least three significant digits, without trailing zeros behind the point.
fn three_digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !(1e-6..1e9).contains(&value.abs()) {
        return format!("{value:.2e}");
    }
    let before = value.abs().log10().floor() as i32;
    let decimals = (2 - before).max(0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_well() {
        assert_eq!(length(0.0048), "4.8 mm");
        assert_eq!(length(-1.2e-4), "-0.12 mm");
        assert_eq!(length(8e-7), "0.8 um");
        assert_eq!(length(0.0), "0 mm");
        assert_eq!(length(0.4), "400 mm");
        assert_eq!(length(12.34567), "12346 mm");
        assert_eq!(area(3.456e-6), "3.46 mm2");
        assert_eq!(length(f64::INFINITY), "inf mm");
    }
}
