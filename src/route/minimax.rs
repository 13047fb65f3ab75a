//! One step toward the greatest least: which small change raises the lowest of many linear figures most.

/// Exchanges of weight between two rows before the step is taken as it is.
const ROUNDS: usize = 400;

/// A figure that is to be raised, to first order.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Its value now.
    pub value: f64,
    /// How it changes with each variable.
    pub slope: Vec<f64>,
}

/// The change that maximises `weight * min(rows) - cost . change - |change|^2 / (2 reach)`.
///
/// By the dual: weights on the rows that add up to one, moved between the lowest row and the highest weighted row
/// until none gains. Cost: rounds x rows x variables. With no row there is no change but down the cost.
///
/// # Source
/// The proximal bundle subproblem and its dual: Bonnans et al., *Numerical Optimization* (2006), ch. 10
/// (from memory).
pub(super) fn step(rows: &[Row], cost: &[f64], weight: f64, reach: f64) -> Vec<f64> {
    let mut change: Vec<f64> = cost.iter().map(|slope| -reach * slope).collect();
    let Some(lowest) = (0..rows.len()).min_by(|a, b| rows[*a].value.total_cmp(&rows[*b].value)) else {
        return change;
    };
    let mut shares = vec![0.0; rows.len()];
    shares[lowest] = 1.0;
    for (change, slope) in change.iter_mut().zip(&rows[lowest].slope) {
        *change += reach * weight * slope;
    }
    for _ in 0..ROUNDS {
        let ahead = |row: &Row| row.value + row.slope.iter().zip(&change).map(|(a, b)| a * b).sum::<f64>();
        let (mut low, mut high) = ((0, f64::INFINITY), (0, f64::NEG_INFINITY));
        for (at, row) in rows.iter().enumerate() {
            let value = ahead(row);
            if value < low.1 {
                low = (at, value);
            }
            if shares[at] > 0.0 && value > high.1 {
                high = (at, value);
            }
        }
        if high.1 - low.1 <= 1e-6 {
            break;
        }
        let apart: Vec<f64> = rows[low.0].slope.iter().zip(&rows[high.0].slope).map(|(a, b)| a - b).collect();
        let curve = reach * weight * apart.iter().map(|v| v * v).sum::<f64>();
        let moved = if curve > 0.0 { ((high.1 - low.1) / curve).min(shares[high.0]) } else { shares[high.0] };
        shares[low.0] += moved;
        shares[high.0] -= moved;
        for (change, apart) in change.iter_mut().zip(&apart) {
            *change += reach * weight * moved * apart;
        }
    }
    change
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: of min(x, 4 - x) the greatest is at x = 2, where both are 2; a long reach goes there at once.
    #[test]
    fn two_slopes_meet_in_the_middle() {
        let rows = [Row { value: 0.0, slope: vec![1.0] }, Row { value: 4.0, slope: vec![-1.0] }];
        let found = step(&rows, &[0.0], 1.0, 100.0);
        assert!((found[0] - 2.0).abs() < 1e-6, "{found:?}");
        // A short reach goes as far as it reaches: slope times reach.
        let found = step(&rows, &[0.0], 1.0, 0.5);
        assert!((found[0] - 0.5).abs() < 1e-9, "{found:?}");
    }

    /// Closed form: three planes through (1, 1) at height 5, seen from the origin.
    #[test]
    fn three_planes_have_their_peak_where_they_cross() {
        let plane = |x: f64, y: f64| Row { value: 5.0 - x - y, slope: vec![x, y] };
        let rows = [plane(1.0, 0.3), plane(-0.8, 0.9), plane(-0.1, -1.0)];
        let found = step(&rows, &[0.0, 0.0], 1.0, 1000.0);
        assert!((found[0] - 1.0).abs() < 1e-3 && (found[1] - 1.0).abs() < 1e-3, "{found:?}");
    }

    #[test]
    fn without_rows_it_goes_down_the_cost() {
        assert_eq!(step(&[], &[2.0, -1.0], 1.0, 0.5), [-1.0, 0.5]);
    }
}
