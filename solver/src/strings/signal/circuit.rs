//! What the coil's own inductance and everything behind it do to the voltage.
//!
//! The open-circuit voltage e drives the coil's inductance L and resistance R into the coil's own
//! capacitance, that of the cable, C together, and the load R_l, all in parallel:
//!
//! ```text
//! L di/dt = e - R i - v        C dv/dt = i - v / R_l
//! H(s) = v / e = 1 / (a2 s^2 + a1 s + a0),   a2 = L C,  a1 = R C + L / R_l,  a0 = 1 + R / R_l
//! resonance  omega_0^2 = a0 / a2;   greatest |H| at  omega^2 = a0 / a2 - a1^2 / (2 a2^2)
//! ```
//!
//! Eddy currents in poles, plate and cover, which lower and blunt the resonance, are not in it. In
//! time the two equations are stepped exactly for a voltage that runs straight between samples.

use std::f64::consts::PI;

/// A coil and what hangs on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circuit {
    inductance: f64,
    resistance: f64,
    capacitance: f64,
    load: f64,
}

/// Why values make no circuit.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CircuitError {
    /// A value is zero, negative, or not a number.
    #[error("the {what} of the circuit must be more than 0 and finite, not {value}")]
    NotPositive {
        /// Which value.
        what: &'static str,
        /// What it was.
        value: f64,
    },
}

/// The peak of the response.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resonance {
    /// Frequency without losses, Hz.
    pub natural: f64,
    /// Frequency and height of the greatest response, Hz and times; `None` where it falls from the
    /// start.
    pub peak: Option<(f64, f64)>,
}

impl Circuit {
    /// `inductance` H, `resistance` ohm, `own_capacitance` and `cable_capacitance` F, `load` ohm
    /// (infinite: none).
    ///
    /// # Errors
    /// The inductance, the resistance or the sum of the capacitances is not positive and finite, or
    /// the load is not positive.
    pub fn new(
        inductance: f64,
        resistance: f64,
        own_capacitance: f64,
        cable_capacitance: f64,
        load: f64,
    ) -> Result<Self, CircuitError> {
        let capacitance = own_capacitance + cable_capacitance;
        for (what, value) in
            [("inductance", inductance), ("resistance", resistance), ("capacitance", capacitance)]
        {
            if !(value > 0.0 && value.is_finite()) {
                return Err(CircuitError::NotPositive { what, value });
            }
        }
        for (what, value) in
            [("own capacitance", own_capacitance), ("cable capacitance", cable_capacitance)]
        {
            if value < 0.0 {
                return Err(CircuitError::NotPositive { what, value });
            }
        }
        if load.is_nan() || load <= 0.0 {
            return Err(CircuitError::NotPositive { what: "load", value: load });
        }
        Ok(Self { inductance, resistance, capacitance, load })
    }

    /// a0, a1, a2.
    fn coefficients(&self) -> [f64; 3] {
        let Self { inductance, resistance, capacitance, load } = *self;
        [
            1.0 + resistance / load,
            resistance * capacitance + inductance / load,
            inductance * capacitance,
        ]
    }

    /// H at `frequency` (Hz), real and imaginary part.
    pub fn response(&self, frequency: f64) -> [f64; 2] {
        let [a0, a1, a2] = self.coefficients();
        let omega = 2.0 * PI * frequency;
        let (re, im) = (a0 - a2 * omega * omega, a1 * omega);
        let size = re * re + im * im;
        [re / size, -im / size]
    }

    /// Where the response peaks.
    pub fn resonance(&self) -> Resonance {
        let [a0, a1, a2] = self.coefficients();
        let squared = a0 / a2 - 0.5 * (a1 / a2).powi(2);
        let peak = (squared > 0.0).then(|| {
            let frequency = squared.sqrt() / (2.0 * PI);
            let [re, im] = self.response(frequency);
            (frequency, re.hypot(im))
        });
        Resonance { natural: (a0 / a2).sqrt() / (2.0 * PI), peak }
    }

    /// The voltage behind the circuit, V, for `source` (V) sampled every `step` (s), at rest before.
    pub fn filter(&self, source: &[f64], step: f64) -> Vec<f64> {
        // State (i, v), input and its slope: z' = A z, the input running straight within a step.
        let Self { inductance, resistance, capacitance, load } = *self;
        let mut a = [[0.0; 4]; 4];
        a[0] = [-resistance / inductance, -1.0 / inductance, 1.0 / inductance, 0.0];
        a[1] = [1.0 / capacitance, -1.0 / (load * capacitance), 0.0, 0.0];
        a[2][3] = 1.0;
        let stepped = exponential(&a.map(|row| row.map(|x| x * step)));
        let mut state = [0.0; 2];
        let mut out = Vec::with_capacity(source.len());
        for (i, &e) in source.iter().enumerate() {
            out.push(state[1]);
            let slope = source.get(i + 1).map_or(0.0, |next| (next - e) / step);
            let z = [state[0], state[1], e, slope];
            state = std::array::from_fn(|r| (0..4).map(|c| stepped[r][c] * z[c]).sum());
        }
        out
    }
}

/// exp of a small matrix: its Taylor series at a halved argument, squared back.
fn exponential(a: &[[f64; 4]; 4]) -> [[f64; 4]; 4] {
    let norm = a.iter().map(|r| r.iter().map(|x| x.abs()).sum::<f64>()).fold(0.0, f64::max);
    let halvings = if norm > 0.5 { (norm / 0.5).log2().ceil().min(1000.0) as i32 } else { 0 };
    let small = a.map(|row| row.map(|x| x * 0.5_f64.powi(halvings)));
    let mut sum = [[0.0; 4]; 4];
    for i in 0..4 {
        sum[i][i] = 1.0;
    }
    let mut term = sum;
    // 0.5^18 / 18! is below rounding.
    for order in 1..=18 {
        term = product(&term, &small).map(|row| row.map(|x| x / f64::from(order)));
        for i in 0..4 {
            for j in 0..4 {
                sum[i][j] += term[i][j];
            }
        }
    }
    for _ in 0..halvings {
        sum = product(&sum, &sum);
    }
    sum
}

fn product(a: &[[f64; 4]; 4], b: &[[f64; 4]; 4]) -> [[f64; 4]; 4] {
    std::array::from_fn(|i| std::array::from_fn(|j| (0..4).map(|k| a[i][k] * b[k][j]).sum()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usual() -> Circuit {
        Circuit::new(2.2, 5700.0, 100e-12, 500e-12, 200e3).expect("positive")
    }

    /// The response is the ladder of impedances worked out by hand.
    #[test]
    fn the_response_is_that_of_the_impedances() {
        let circuit = usual();
        for frequency in [0.0, 82.4, 1000.0, 4300.0, 20e3] {
            let omega = 2.0 * PI * frequency;
            // Admittance of load and capacitance, impedance of the coil: H = 1 / (1 + Z Y).
            let (y, b) = (1.0 / 200e3, omega * 600e-12);
            let (r, x) = (5700.0, omega * 2.2);
            let (re, im) = (1.0 + r * y - x * b, r * b + x * y);
            let [hr, hi] = circuit.response(frequency);
            // (re + i im)(hr + i hi) = 1, to rounding.
            assert!((re * hr - im * hi - 1.0).abs() < 1e-13 && (re * hi + im * hr).abs() < 1e-13);
        }
    }

    #[test]
    fn the_peak_is_the_greatest_response() {
        let Resonance { natural, peak } = usual().resonance();
        let Some((frequency, height)) = peak else { unreachable!("no peak") };
        // sqrt(1.0285 / (2.2 * 600e-12)) / 2 pi.
        assert!((natural - 4442.55).abs() < 0.1, "{natural}");
        assert!(frequency < natural && frequency > 0.9 * natural, "{frequency}");
        let size = |f: f64| usual().response(f)[0].hypot(usual().response(f)[1]);
        assert_eq!(size(frequency).to_bits(), height.to_bits());
        for off in [0.99, 0.999, 1.001, 1.01] {
            assert!(size(frequency * off) < height);
        }
        let dull = Circuit::new(2.2, 5700.0, 0.0, 600e-12, 10e3).expect("positive");
        assert_eq!(dull.resonance().peak, None);
    }

    /// A sine that has been on for long comes out with the size and phase of the response.
    #[test]
    fn a_steady_sine_comes_out_as_the_response_says() {
        let circuit = usual();
        let (frequency, rate) = (3000.0, 768_000.0);
        let omega = 2.0 * PI * frequency;
        let count = 32 * 256;
        let source: Vec<f64> = (0..count).map(|i| (omega * f64::from(i) / rate).cos()).collect();
        let out = circuit.filter(&source, 1.0 / rate);
        let [re, im] = circuit.response(frequency);
        for i in (count - 256)..count {
            let (s, c) = (omega * f64::from(i) / rate).sin_cos();
            // Straight lines between 256 samples a period: (pi / 256)^2 / 3 = 5e-5 too small; the
            // start has died away by exp(-30).
            assert!((out[i as usize] - (re * c - im * s)).abs() < 1e-4 * re.hypot(im));
        }
    }

    /// A constant voltage settles to e / a0, whatever the step, and a long step does not blow up.
    #[test]
    fn a_constant_settles() {
        for step in [1e-6, 1e-4, 1.0] {
            let out = usual().filter(&vec![1.0; 20_000], step);
            let last = out.last().copied().unwrap_or(f64::NAN);
            assert!((last - 1.0 / (1.0 + 5700.0 / 200e3)).abs() < 1e-9, "{step}: {last}");
        }
    }

    #[test]
    fn refuses_what_is_no_circuit() {
        assert!(Circuit::new(0.0, 1.0, 1.0, 1.0, 1.0).is_err());
        assert!(Circuit::new(1.0, f64::NAN, 1.0, 1.0, 1.0).is_err());
        assert!(Circuit::new(1.0, 1.0, 0.0, 0.0, 1.0).is_err());
        assert!(Circuit::new(1.0, 1.0, 2.0, -1.0, 1.0).is_err());
        assert!(Circuit::new(1.0, 1.0, 1.0, 1.0, -1.0).is_err());
        assert!(Circuit::new(1.0, 1.0, 1.0, 1.0, f64::INFINITY).is_ok());
    }
}
