//! A round pole's answer to a string that passes it at its side, from the waves for one over it.
//!
//! What a pole of radius R answers to waves of wave numbers k and k' changes with k at a rate of R at
//! most, and its wave numbers are no closer than that asks for. The waves of a string at the distance r
//! turn with a rate of r. So the answer is carried over, by the polynomial through the wave numbers of each
//! panel, to wave numbers close enough for r; and it ends where waves at r cancel
//! ([`crate::strings::fade`]), without which those left over would make up an answer.

use crate::strings::fade::Fade;
use crate::strings::gauss::gauss_legendre;
use crate::strings::plane::panel_nodes;
use crate::strings::reaction::RoundWaves;

/// Fewest points of a panel.
const FEWEST: usize = 6;
/// Most points of a panel: 600 rad.
const MOST: usize = 400;
/// Turn from one point to the next, rad.
const TURN: f64 = 1.5;

/// Wave numbers from `start` to `end` (1/m), with the places and weights of a Gauss-Legendre rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Panel {
    pub start: f64,
    pub end: f64,
    pub points: usize,
}

impl Panel {
    /// Wave numbers and weights, `[points]`.
    pub(crate) fn nodes(&self) -> Vec<(f64, f64)> {
        panel_nodes(self.start, self.end, self.points)
    }

    /// Shares of the values at its points in that of the polynomial through them at `k`, `[points]`.
    fn shares(&self, k: f64) -> Vec<f64> {
        let (x, _) = gauss_legendre(self.points);
        let at = (2.0 * k - self.start - self.end) / (self.end - self.start);
        (0..x.len())
            .map(|i| {
                let others = (0..x.len()).filter(|&j| j != i);
                others.map(|j| (at - x[j]) / (x[i] - x[j])).product()
            })
            .collect()
    }
}

impl RoundWaves {
    /// The same answer for strings whose nearest place is `away` (m) from the axis.
    pub(crate) fn finer(&self, away: f64) -> Self {
        let fade = Fade { within: self.within };
        let greatest = fade.greatest(away);
        let mut finer =
            Self { k: Vec::new(), columns: Vec::new(), panels: Vec::new(), fade, ..self.clone() };
        finer.columns = self.columns.iter().map(|of_m| vec![Vec::new(); of_m.len()]).collect();
        let mut first = 0;
        for panel in &self.panels {
            let old = panel.nodes();
            let range = first..first + old.len();
            first = range.end;
            if panel.start >= greatest {
                continue;
            }
            let end = panel.end.min(greatest);
            let points = ((end - panel.start) * away / TURN).ceil() as usize;
            let new = Panel { start: panel.start, end, points: points.clamp(FEWEST, MOST) };
            for (k, w) in new.nodes() {
                let shares = panel.shares(k);
                finer.k.push(k);
                for (of_m, finer) in self.columns.iter().zip(&mut finer.columns) {
                    for (column, finer) in of_m.iter().zip(finer) {
                        // Weights are in the columns.
                        let values = column[range.clone()].iter().zip(&old).zip(&shares);
                        finer.push(w * values.map(|((c, (_, w)), s)| c / w * s).sum::<f64>());
                    }
                }
            }
            finer.panels.push(new);
        }
        finer
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Columns that turn with k at a rate of R are found between the points.
    #[test]
    fn columns_are_carried_over() {
        let within = 2.4e-3;
        let panels = vec![
            Panel { start: 0.0, end: 1000.0, points: 8 },
            Panel { start: 1000.0, end: 3500.0, points: 12 },
        ];
        let column = |k: f64| (k * within).cos() + 0.3 * (k * within).sin();
        let nodes: Vec<_> = panels.iter().flat_map(Panel::nodes).collect();
        let columns = vec![vec![nodes.iter().map(|(k, w)| w * column(*k)).collect()]];
        let k = nodes.iter().map(|n| n.0).collect();
        let waves = RoundWaves { z0: 0.0, k, columns, panels, within, fade: Fade::NEVER };
        let finer = waves.finer(20e-3);
        // exp(-16) of a wave is left at the end of the fall.
        assert!(finer.k.iter().all(|k| *k < 64.0 / 17.6e-3) && finer.k.len() > 40);
        let nodes: Vec<_> = finer.panels.iter().flat_map(Panel::nodes).collect();
        for ((k, w), found) in nodes.iter().zip(&finer.columns[0][0]) {
            // The last term of cos(kR) at eight points over 2.4 rad: 1.2^8 / 8! / 2^7 = 1e-6; twelve over
            // 6 rad: 3^12 / 12! / 2^11 = 5e-7.
            assert!((found / w - column(*k)).abs() < 2e-6, "{k}: {} {}", found / w, column(*k));
        }
    }
}
