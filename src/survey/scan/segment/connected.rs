//! The largest connected piece of a set of points.

use std::collections::HashMap;

use nalgebra::Point3;

/// Of these points the largest piece whose points are connected over gaps of about `gap_mm`: they fall into cells of that
/// edge, and cells that touch are connected. The order stays.
pub(super) fn largest_piece(points: &[Point3<f64>], indices: &[u32], gap_mm: f64) -> Vec<u32> {
    let mut numbers: HashMap<[i64; 3], u32> = HashMap::new();
    let mut cells: Vec<([i64; 3], usize)> = Vec::new();
    // Points that follow each other mostly lie in one cell.
    let mut last = None;
    let own: Vec<u32> = indices
        .iter()
        .map(|&index| {
            let at = points[index as usize];
            let cell = [0, 1, 2].map(|axis| (at[axis] / gap_mm).floor() as i64);
            let number = match last {
                Some((same, number)) if same == cell => number,
                _ => *numbers.entry(cell).or_insert_with(|| {
                    cells.push((cell, 0));
                    cells.len() as u32 - 1
                }),
            };
            last = Some((cell, number));
            cells[number as usize].1 += 1;
            number
        })
        .collect();
    // Pieces by a walk from cell to cell.
    let mut piece = vec![u32::MAX; cells.len()];
    let (mut best, mut best_points) = (u32::MAX, 0);
    let mut open = Vec::new();
    for start in 0..cells.len() {
        if piece[start] != u32::MAX {
            continue;
        }
        let label = start as u32;
        piece[start] = label;
        open.push(start);
        let mut count = 0;
        while let Some(here) = open.pop() {
            let (cell, points) = cells[here];
            count += points;
            for k in 0..27i64 {
                let [x, y, z] = [k % 3 - 1, k / 3 % 3 - 1, k / 9 - 1];
                let beside = [cell[0].wrapping_add(x), cell[1].wrapping_add(y), cell[2].wrapping_add(z)];
                if let Some(&next) = numbers.get(&beside)
                    && piece[next as usize] == u32::MAX
                {
                    piece[next as usize] = label;
                    open.push(next as usize);
                }
            }
        }
        if count > best_points {
            (best, best_points) = (label, count);
        }
    }
    indices
        .iter()
        .zip(own)
        .filter(|(_, number)| piece[*number as usize] == best)
        .map(|(index, _)| *index)
        .collect()
}
