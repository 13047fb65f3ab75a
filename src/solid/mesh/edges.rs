//! Whether a surface closes.

/// Edges that are not shared by exactly two triangles running opposite ways.
pub(super) fn open_edges(triangles: &[[u32; 3]]) -> usize {
    // Each side as (lesser end, greater end, whether it runs up).
    let mut sides: Vec<(u32, u32, bool)> = triangles
        .iter()
        .filter(|[a, b, c]| a != b && b != c && c != a)
        .flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)])
        .map(|(from, to)| (from.min(to), from.max(to), from < to))
        .collect();
    sides.sort_unstable();
    sides
        .chunk_by(|one, other| (one.0, one.1) == (other.0, other.1))
        .filter(|edge| !matches!(edge, [(_, _, false), (_, _, true)]))
        .count()
}
