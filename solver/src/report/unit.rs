//! Units of a report: how each is written in a key, in a table, and how it follows from SI.

/// A unit: `shown = SI value x scale`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// How it ends a key, e.g. `mN_per_mm`; empty for a pure number.
    pub key: &'static str,
    /// How it stands in a table, e.g. `mN/mm`; empty for a pure number.
    pub symbol: &'static str,
    /// Shown value over SI value.
    pub scale: f64,
    /// Decimals of a table beyond which nobody cares, however small a number is.
    pub finest: usize,
}

const fn unit(key: &'static str, symbol: &'static str, scale: f64) -> Unit {
    Unit { key, symbol, scale, finest: 6 }
}

impl Unit {
    const fn to(self, finest: usize) -> Self {
        Self { finest, ..self }
    }
}

/// A pure number.
pub const ONE: Unit = unit("", "", 1.0);
/// Length.
pub const MM: Unit = unit("mm", "mm", 1e3).to(4);
/// Area.
pub const MM2: Unit = unit("mm2", "mm²", 1e6).to(4);
/// Angle, from radian.
pub const DEGREE: Unit = unit("deg", "°", 180.0 / std::f64::consts::PI);
/// Temperature, degrees Celsius (kept in degrees Celsius inside too).
pub const CELSIUS: Unit = unit("degC", "°C", 1.0);
/// Flux density outside metal.
pub const MT: Unit = unit("mT", "mT", 1e3).to(3);
/// Flux density in metal.
pub const T: Unit = unit("T", "T", 1.0).to(4);
/// Flux.
pub const UWB: Unit = unit("uWb", "µWb", 1e6).to(4);
/// Flux per metre of depth.
pub const UWB_PER_MM: Unit = unit("uWb_per_mm", "µWb/mm", 1e3).to(5);
/// Flux linkage.
pub const MWB: Unit = unit("mWb", "mWb", 1e3).to(4);
/// Flux linkage per metre of depth.
pub const WB_PER_M: Unit = unit("Wb_per_m", "Wb/m", 1.0).to(5);
/// Change of flux linkage with place.
pub const UWB_PER_MM_OF_TRAVEL: Unit = unit("uWb_per_mm", "µWb/mm", 1e3).to(3);
/// Change of flux linkage with place, per metre of depth.
pub const MWB_PER_MM_PER_M: Unit = unit("mWb_per_mm_per_m", "mWb/mm/m", 1.0).to(4);
/// Second derivative of flux linkage by place.
pub const UWB_PER_MM2: Unit = unit("uWb_per_mm2", "µWb/mm²", 1.0).to(3);
/// Force.
pub const MN: Unit = unit("mN", "mN", 1e3).to(4);
/// Force per metre of depth.
pub const N_PER_M: Unit = unit("N_per_m", "N/m", 1.0).to(5);
/// Change of force with place; the same number in N/m.
pub const MN_PER_MM: Unit = unit("mN_per_mm", "mN/mm", 1.0).to(4);
/// Change of force per metre of depth with place.
pub const N_PER_M_PER_MM: Unit = unit("N_per_m_per_mm", "N/m/mm", 1e-3).to(5);
/// Inductance.
pub const H: Unit = unit("H", "H", 1.0);
/// Inductance per metre of depth.
pub const H_PER_M: Unit = unit("H_per_m", "H/m", 1.0);
/// Resistance.
pub const KOHM: Unit = unit("kohm", "kΩ", 1e-3);
/// Energy.
pub const MJ: Unit = unit("mJ", "mJ", 1e3);
/// Energy per metre of depth.
pub const J_PER_M: Unit = unit("J_per_m", "J/m", 1.0);
/// Field strength.
pub const KA_PER_M: Unit = unit("kA_per_m", "kA/m", 1e-3).to(2);
/// Energy product of a magnet.
pub const KJ_PER_M3: Unit = unit("kJ_per_m3", "kJ/m³", 1e-3).to(2);
/// Change with temperature, as a share of the value at 20 degrees Celsius.
pub const PERCENT_PER_K: Unit = unit("percent_per_K", "%/K", 100.0).to(3);
/// Share of a whole.
pub const PERCENT: Unit = unit("percent", "%", 100.0).to(2);
/// Force of a string's tension.
pub const N: Unit = unit("N", "N", 1.0).to(2);
/// Change of pull with place, as strings feel it.
pub const N_PER_M_OF_TRAVEL: Unit = unit("N_per_m", "N/m", 1.0).to(4);
/// Frequency.
pub const HZ: Unit = unit("Hz", "Hz", 1.0).to(4);
/// Interval.
pub const CENT: Unit = unit("cent", "cent", 1.0).to(4);
/// Weight of a string.
pub const G_PER_M: Unit = unit("g_per_m", "g/m", 1e3).to(4);
/// Voltage.
pub const MV: Unit = unit("mV", "mV", 1e3).to(4);
/// Level.
pub const DB: Unit = unit("dB", "dB", 1.0).to(2);
/// Capacitance.
pub const PF: Unit = unit("pF", "pF", 1e12).to(1);
/// Time.
pub const MS: Unit = unit("ms", "ms", 1e3).to(4);

/// Every unit that a key can end in.
const OF_KEYS: [Unit; 31] = [
    MM,
    MM2,
    DEGREE,
    CELSIUS,
    MT,
    T,
    UWB,
    UWB_PER_MM,
    MWB,
    WB_PER_M,
    MWB_PER_MM_PER_M,
    MN,
    N_PER_M,
    MN_PER_MM,
    N_PER_M_PER_MM,
    H,
    H_PER_M,
    KOHM,
    MJ,
    J_PER_M,
    KA_PER_M,
    KJ_PER_M3,
    PERCENT_PER_K,
    PERCENT,
    N,
    HZ,
    CENT,
    G_PER_M,
    MV,
    DB,
    MS,
];

/// The name and the unit of a key: `pull_up_mN` is `pull_up` in mN.
pub fn split_key(key: &str) -> (&str, Unit) {
    let ends = |unit: &&Unit| {
        key.strip_suffix(unit.key).is_some_and(|rest| rest.len() > 1 && rest.ends_with('_'))
    };
    match OF_KEYS.iter().filter(ends).max_by_key(|unit| unit.key.len()) {
        Some(unit) => (&key[..key.len() - unit.key.len() - 1], *unit),
        None => (key, ONE),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_fall_into_name_and_unit() {
        for (key, name, symbol) in [
            ("pull_up_mN", "pull_up", "mN"),
            ("pull_up_change_up_mN_per_mm", "pull_up_change_up", "mN/mm"),
            ("linkage_change_up_mWb_per_mm_per_m", "linkage_change_up", "mWb/mm/m"),
            ("flux_density_T", "flux_density", "T"),
            ("turns", "turns", ""),
        ] {
            let (found, unit) = split_key(key);
            assert_eq!((found, unit.symbol), (name, symbol));
        }
    }
}
