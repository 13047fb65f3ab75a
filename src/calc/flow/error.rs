//! Why a flow has no figures.

/// Why a flow has no figures: what, and what would do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FlowError {
    /// A figure is not finite or out of range.
    #[error("{what} is {value}; it must be {wanted}")]
    Figure {
        /// Which.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What would do.
        wanted: &'static str,
    },
    /// The gas would have to go faster than sound.
    #[error(
        "so much gas does not go through a bore of {bore_mm:.1} mm: it chokes in part {part} of the tube; a bore of \
         {would_do_mm:.1} mm would begin at Mach 0.3{}",
        passes(*may_lose_pa)
    )]
    Chokes {
        /// Which part of the tube, from 1, straights and bends counted in turn.
        part: usize,
        /// Its bore, mm.
        bore_mm: f64,
        /// The bore in which the flow begins at Mach 0.3, mm.
        would_do_mm: f64,
        /// What it loses with as little friction and loss in bends as there may well be, Pa; `None` when it chokes then
        /// too.
        may_lose_pa: Option<f64>,
    },
    /// Two parts that meet have different bores.
    #[error(
        "part {} of the tube ends with a bore of {ends_mm:.2} mm and part {after} begins with {begins_mm:.2} mm; put \
         a change of bore between them", after - 1
    )]
    BoresDiffer {
        /// The later part, from 1.
        after: usize,
        /// Bore at the end of the part before, mm.
        ends_mm: f64,
        /// Bore at the start of the later part, mm.
        begins_mm: f64,
    },
}

fn passes(may_lose_pa: Option<f64>) -> String {
    may_lose_pa.map_or_else(String::new, |pa| {
        format!(
            "; with as little friction and loss in bends as there may well be, it passes and loses {:.2} kPa",
            pa / 1e3
        )
    })
}
