//! Cells by their number: open addressing, the sums of a cell beside it.

/// Tables that are filled at once, each by one thread; a power of two.
pub(super) const SHARDS: usize = 256;
/// No cell has this number: cells use 63 bits.
const FREE: u64 = u64::MAX;

/// Sums of the points of a cell, in steps.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    pub(super) key: u64,
    pub(super) count: u32,
    pub(super) place: [u64; 3],
    pub(super) normal: [i64; 3],
}

/// A point: the number of its cell, and its place within it, 21 bits an axis.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Placed {
    pub(super) key: u64,
    pub(super) within: u64,
}

/// A number with every bit of `key` in its upper bits (multiplicative hashing; the factor is 2^64 over the golden ratio).
fn mixed(key: u64) -> u64 {
    let key = key ^ (key >> 31);
    key.wrapping_mul(0x9e37_79b9_7f4a_7c15)
}

pub(super) fn shard_of(key: u64) -> usize {
    (mixed(key) >> (64 - SHARDS.trailing_zeros())) as usize
}

/// The cells of one shard.
#[derive(Debug, Default)]
pub(super) struct CellTable {
    slots: Vec<Slot>,
    /// One a slot, when normals are kept.
    normals: Vec<[i64; 3]>,
    keep_normals: bool,
    filled: usize,
}

#[derive(Clone, Copy, Debug)]
struct Slot {
    key: u64,
    place: [u64; 3],
    count: u32,
}

impl CellTable {
    pub(super) fn len(&self) -> usize {
        self.filled
    }

    pub(super) fn keep_normals(&mut self) {
        self.keep_normals = true;
        self.normals = vec![[0; 3]; self.slots.len()];
    }

    pub(super) fn cells(&self) -> impl Iterator<Item = Cell> + '_ {
        self.slots.iter().enumerate().filter(|(_, slot)| slot.key != FREE).map(|(at, slot)| Cell {
            key: slot.key,
            count: slot.count,
            place: slot.place,
            normal: self.normals.get(at).copied().unwrap_or_default(),
        })
    }

    /// Adds points, with normals where there are any.
    pub(super) fn add(&mut self, points: &[Placed], normals: &[[i64; 3]]) {
        const AXIS: u64 = (1 << 21) - 1;
        for (k, point) in points.iter().enumerate() {
            let Placed { key, within } = *point;
            let place = [within & AXIS, (within >> 21) & AXIS, within >> 42];
            self.insert(&Cell { key, count: 1, place, normal: normals.get(k).copied().unwrap_or_default() });
        }
    }

    fn insert(&mut self, cell: &Cell) {
        if 4 * (self.filled + 1) > 3 * self.slots.len() {
            self.grow();
        }
        self.put(cell);
    }

    fn put(&mut self, cell: &Cell) {
        let mask = self.slots.len() - 1;
        // The uppermost bits chose the shard; those below them the slot.
        let mut at = (mixed(cell.key) >> 20) as usize & mask;
        loop {
            let slot = &mut self.slots[at];
            if slot.key == FREE {
                *slot = Slot { key: cell.key, place: [0; 3], count: 0 };
                self.filled += 1;
            }
            if slot.key == cell.key {
                // A cell with more points than that keeps the mean of the first four thousand million.
                let Some(count) = slot.count.checked_add(cell.count) else { return };
                slot.count = count;
                for (sum, own) in slot.place.iter_mut().zip(cell.place) {
                    *sum += own;
                }
                if self.keep_normals {
                    for (sum, own) in self.normals[at].iter_mut().zip(cell.normal) {
                        *sum += own;
                    }
                }
                return;
            }
            at = (at + 1) & mask;
        }
    }

    fn grow(&mut self) {
        let room = (2 * self.slots.len()).max(256);
        let kept: Vec<Cell> = self.cells().collect();
        self.slots = vec![Slot { key: FREE, place: [0; 3], count: 0 }; room];
        self.normals = if self.keep_normals { vec![[0; 3]; room] } else { Vec::new() };
        self.filled = 0;
        for cell in &kept {
            self.put(cell);
        }
    }
}
