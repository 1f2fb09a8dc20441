//! `lodestring signal`: the voltage of a plucked string.

use std::io::Cursor;

use lodestring::material::Library;
use lodestring::pipeline;
use lodestring::report::wav::write_wav;
use lodestring::section::Section;
use lodestring::strings::signal::Pluck;
use lodestring::study::signal::{SignalError, SignalOptions, signal};
use lodestring::study::signal_report::{report, text, write_sound};
use lodestring::study::strung::Strung;
use lodestring::study::three_meshes::with_errors;

use crate::args::Signal;
use crate::destination::Destination;
use crate::error::CliError;
use crate::typed::{length, pick, positive, several_lengths};
use crate::{circuit, form, instrument_file, section_file};

/// Millivolt in volt.
const MV: f64 = 1e-3;

/// Plucks a string over a section and reports.
pub fn run(args: &Signal, library: &Library) -> Result<(), CliError> {
    let mut options = options(args)?;
    let full_scale = args.sound.full_scale.map(|mv| positive("full-scale", mv)).transpose()?;
    let report_to = Destination::prepare(args.output.out.as_deref(), &args.file)?;
    let wav_to = Destination::prepare_if_asked(args.sound.wav.as_deref(), &args.file)?;
    let voltage_to = Destination::prepare_if_asked(args.sound.voltage.as_deref(), &args.file)?;
    if wav_to.is_none() && voltage_to.is_none() {
        options.duration = 0.0;
    }

    let file = section_file::read(&args.file)?;
    let instrument = instrument_file::read(&args.instrument)?;
    let section = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?.section;
    let (strings, notes) = instrument_file::strings(&file, &section, &instrument)?;
    let strung = string(args, strings)?;
    options.coil = coil(args, &section)?;
    let study = |section: &Section, coarser: bool| {
        // The sound is that of the finest mesh.
        let duration = if coarser { 0.0 } else { options.duration };
        let options = SignalOptions { duration, ..options.clone() };
        let signal = signal(section, library, &instrument, &strung, &options)?;
        let report = report(section, &strung, &options, &signal, &notes);
        Ok::<_, SignalError>((signal, report))
    };
    let (signal, report) = with_errors(&section, study).map_err(|e| file.study_error(e.into()))?;

    let report = form::written(&report, args.output.format, text);
    if let Some(voltage_to) = voltage_to {
        voltage_to.write(form::in_memory(|out| write_sound(&signal, options.rate, out)))?;
    }
    if let Some(wav_to) = wav_to {
        let peak = signal.voltage.iter().fold(f64::MIN_POSITIVE, |p, v| p.max(v.abs()));
        let full_scale = full_scale.map_or(peak, |mv| mv * MV);
        let mut bytes = Cursor::new(Vec::new());
        let held = write_wav(&signal.voltage, options.rate, full_scale, &mut bytes);
        if let Ok(held @ 1..) = held {
            crate::error::note(&format!(
                "{held} samples exceed the full scale of {:.4} mV and are held at it",
                full_scale / MV
            ));
        }
        wav_to.write(held.map(|_| bytes.into_inner()))?;
    }
    report_to.write(report)
}

fn options(args: &Signal) -> Result<SignalOptions, CliError> {
    let sound = &args.sound;
    if !args.angle.is_finite() {
        return Err(CliError::Usage("--angle must be a finite number of degrees".to_owned()));
    }
    Ok(SignalOptions {
        coil: 0,
        fret: args.fret,
        pluck: Pluck {
            place: length("pluck", &args.pluck)?,
            height: length("height", &args.height)?,
            angle: args.angle.to_radians(),
            width: length("width", &args.width)?,
        },
        decay: args.decay.map_or(Ok(f64::INFINITY), |d| positive("decay", d))?,
        duration: positive("duration", sound.duration)?,
        rate: sound.rate,
        harmonics: usize::from(args.harmonics),
        amplitudes: several_lengths("amplitudes", &args.amplitudes)?,
        circuit: circuit::parts(args.circuit)?,
    })
}

/// The string that was named, or the only one.
fn string(args: &Signal, mut strings: Vec<Strung>) -> Result<Strung, CliError> {
    let names: Vec<&str> = strings.iter().map(|s| s.spec.name.as_str()).collect();
    let index = pick("string", args.string.as_deref(), &names)?;
    Ok(strings.swap_remove(index))
}

/// The coil that was named, or the only one.
fn coil(args: &Signal, section: &Section) -> Result<usize, CliError> {
    let names: Vec<&str> = section.coils.iter().map(|c| c.name.as_str()).collect();
    pick("coil", args.coil.as_deref(), &names)
}
