//! Published arm lengths, by name: what a reach is judged by when no own arm is measured.
//!
//! Nude and static figures: thick sleeves shorten a reach. A point that everyone must reach is
//! judged by the short arm (ISO 15534-2:2000, scope).

/// A published arm length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arm {
    /// Its name: what a scene writes.
    pub name: &'static str,
    /// What is measured on whom.
    pub what: &'static str,
    /// mm.
    pub length_mm: f64,
    /// Where it is published.
    pub source: &'static str,
}

const BRITISH: &str =
    "British adults, Pheasant-style table, City University of Hong Kong on-line anthropometry, dimension 25";
const FUNCTIONAL: &str = "NUREG-0700 rev. 3 table 11.4, quoting MIL-STD-1472G appendix B";

/// All arms known by name.
pub const ARMS: [Arm; 9] = [
    Arm {
        name: "grip-woman-p5",
        what: "shoulder to grip, woman, 5th percentile",
        length_mm: 555.0,
        source: BRITISH,
    },
    Arm {
        name: "grip-woman-p50",
        what: "shoulder to grip, woman, 50th percentile",
        length_mm: 600.0,
        source: BRITISH,
    },
    Arm {
        name: "grip-man-p5",
        what: "shoulder to grip, man, 5th percentile",
        length_mm: 610.0,
        source: BRITISH,
    },
    Arm {
        name: "grip-man-p50",
        what: "shoulder to grip, man, 50th percentile",
        length_mm: 665.0,
        source: BRITISH,
    },
    Arm {
        name: "grip-man-p95",
        what: "shoulder to grip, man, 95th percentile",
        length_mm: 715.0,
        source: BRITISH,
    },
    Arm {
        name: "functional-woman-p5",
        what: "functional reach, shoulders against a wall, woman, 5th percentile",
        length_mm: 677.0,
        source: FUNCTIONAL,
    },
    Arm {
        name: "functional-man-p95",
        what: "functional reach, shoulders against a wall, man, 95th percentile",
        length_mm: 886.0,
        source: FUNCTIONAL,
    },
    Arm {
        name: "extended-woman-p5",
        what: "extended functional reach, woman, 5th percentile",
        length_mm: 735.0,
        source: FUNCTIONAL,
    },
    Arm {
        name: "extended-man-p95",
        what: "extended functional reach, man, 95th percentile",
        length_mm: 942.0,
        source: FUNCTIONAL,
    },
];

/// The arm of a name.
pub fn arm_named(name: &str) -> Option<&'static Arm> {
    ARMS.iter().find(|arm| arm.name == name)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_table_is_as_published() {
        // The sources named in the table, as in the project's list of published check values.
        for (name, length_mm) in [
            ("grip-woman-p5", 555.0),
            ("grip-woman-p50", 600.0),
            ("grip-man-p5", 610.0),
            ("grip-man-p50", 665.0),
            ("grip-man-p95", 715.0),
            ("functional-woman-p5", 677.0),
            ("functional-man-p95", 886.0),
            ("extended-woman-p5", 735.0),
            ("extended-man-p95", 942.0),
        ] {
            assert_eq!(arm_named(name).unwrap().length_mm, length_mm, "{name}");
        }
        // The functional figures are whole inches and tenths: 26.7, 34.9, 28.9, 37.1 in.
        for (name, inches) in [
            ("functional-woman-p5", 26.7),
            ("functional-man-p95", 34.9),
            ("extended-woman-p5", 28.9),
            ("extended-man-p95", 37.1),
        ] {
            assert!((arm_named(name).unwrap().length_mm / 25.4 - inches).abs() < 0.06, "{name}");
        }
    }
}
