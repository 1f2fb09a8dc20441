//! A voltage as a sound file. The only file that names the WAV library.
//!
//! In: samples in volts, the rate, and what voltage is full scale. Out: RIFF WAVE, one channel,
//! 16-bit integers (the form every reader opens), value = round(32767 V / full scale). Samples beyond
//! full scale are held at it and counted.

use std::io::{self, Seek, Write};

/// Largest sample.
const PEAK: f64 = 32_767.0;

/// Writes `samples` (V) at `rate` samples a second; `full_scale` (V) is the largest sample.
///
/// Returns the number of samples that were held at full scale. A sample that is not a number is
/// written as 0 and counted too.
///
/// # Errors
/// `out` cannot be written, or the file would exceed 4 GB.
pub fn write_wav(
    samples: &[f64],
    rate: u32,
    full_scale: f64,
    out: impl Write + Seek,
) -> io::Result<usize> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::new(out, spec).map_err(as_io)?;
    let mut held = 0;
    for v in samples {
        let scaled = (PEAK * v / full_scale).round();
        if scaled.is_nan() || scaled.abs() > PEAK {
            held += 1;
        }
        // A NaN becomes 0 in this conversion.
        let sample = scaled.clamp(-PEAK, PEAK) as i16;
        writer.write_sample(sample).map_err(as_io)?;
    }
    writer.finalize().map_err(as_io)?;
    Ok(held)
}

fn as_io(error: hound::Error) -> io::Error {
    match error {
        hound::Error::IoError(error) => error,
        other => io::Error::other(other),
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use std::io::Cursor;

    #[test]
    fn reads_back_what_was_written() {
        let samples: Vec<f64> = (0..4800).map(|i| 0.2 * (f64::from(i) * 0.05).sin()).collect();
        let mut bytes = Cursor::new(Vec::new());
        assert_eq!(write_wav(&samples, 48_000, 0.25, &mut bytes).unwrap(), 0);
        bytes.set_position(0);
        let reader = hound::WavReader::new(bytes).unwrap();
        assert_eq!(reader.spec().sample_rate, 48_000);
        let back: Vec<i16> = reader.into_samples::<i16>().map(Result::unwrap).collect();
        assert_eq!(back.len(), samples.len());
        for (b, v) in back.iter().zip(&samples) {
            // Half a step of rounding.
            assert!((f64::from(*b) * 0.25 / PEAK - v).abs() <= 0.5 * 0.25 / PEAK * 1.000_001);
        }
    }

    #[test]
    fn too_much_is_held_and_counted() {
        let mut bytes = Cursor::new(Vec::new());
        let held = write_wav(&[0.5, -2.0, 2.0, f64::NAN], 8_000, 1.0, &mut bytes).unwrap();
        assert_eq!(held, 3);
        bytes.set_position(0);
        let back: Vec<i16> = hound::WavReader::new(bytes)
            .unwrap()
            .into_samples::<i16>()
            .map(Result::unwrap)
            .collect();
        assert_eq!(back, [16_384, -32_767, 32_767, 0]);
    }

    #[test]
    fn a_full_disk_is_an_error() {
        let mut small = [0u8; 20];
        assert!(write_wav(&[0.0; 100], 8_000, 1.0, Cursor::new(&mut small[..])).is_err());
    }
}
