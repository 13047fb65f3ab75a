//! What a tube's material does when it is bent and when it gets hot.

/// A material's mean expansion and stretch, by the name that scenes use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TubeMaterial {
    /// Name.
    pub name: &'static str,
    /// Mean coefficient of linear expansion from 20 deg C up to a temperature: deg C and 1e-6 / K, rising.
    pub expansion: &'static [(f64, f64)],
    /// Where these come from.
    pub expansion_source: &'static str,
    /// Elongation at break of soft tube, as a share: from memory, and a screening figure. The tube's own
    /// certificate is better.
    pub elongation: f64,
}

/// The materials whose growth is known. TE-1's figures start at 70 deg F (21 deg C), which counts as 20 here.
pub const TUBE_MATERIALS: &[TubeMaterial] = &[
    TubeMaterial {
        name: "mild-steel",
        expansion: &[(260.0, 13.14), (371.0, 13.68), (538.0, 14.58)],
        expansion_source: "ASME BPVC II-D (2001) table TE-1, group 1: 7.3, 7.6, 8.1e-6 / deg F to 500, 700, 1000 deg F",
        elongation: 0.30,
    },
    TubeMaterial {
        name: "stainless-304",
        expansion: &[(100.0, 17.3), (316.0, 17.8), (538.0, 18.4), (649.0, 18.7)],
        expansion_source: "property sheet of a catalyst substrate maker: 9.6, 9.9, 10.2, 10.4e-6 / deg F from 0 deg C",
        elongation: 0.40,
    },
    TubeMaterial {
        name: "stainless-321",
        expansion: &[(100.0, 16.6), (600.0, 18.9), (1000.0, 20.5)],
        expansion_source: "tube maker's table of physical properties of types 321 and 347",
        elongation: 0.40,
    },
    TubeMaterial {
        name: "stainless-409",
        expansion: &[(100.0, 11.7), (650.0, 13.0)],
        expansion_source: "from memory",
        elongation: 0.25,
    },
    TubeMaterial {
        name: "alloy-625",
        expansion: &[(100.0, 12.8), (538.0, 14.0)],
        expansion_source: "12.8: Callister, table B.6; 14.0: from memory",
        elongation: 0.40,
    },
    TubeMaterial {
        name: "aluminium",
        expansion: &[(100.0, 23.6)],
        expansion_source: "Callister, table B.6, alloy 6061",
        elongation: 0.15,
    },
];

impl TubeMaterial {
    /// The material of a name.
    pub fn find(name: &str) -> Option<&'static TubeMaterial> {
        TUBE_MATERIALS.iter().find(|material| material.name == name)
    }

    /// Mean coefficient from 20 deg C to a temperature, 1/K: straight between the table's figures, the nearest
    /// one outside them.
    pub fn mean_expansion_per_k(&self, hot_c: f64) -> f64 {
        let table = self.expansion;
        let after = table.iter().position(|(to, _)| hot_c <= *to);
        let micro = match after {
            Some(0) => table[0].1,
            Some(index) => {
                let ((from, low), (to, high)) = (table[index - 1], table[index]);
                low + (high - low) * (hot_c - from) / (to - from)
            }
            None => table.last().map_or(0.0, |last| last.1),
        };
        micro * 1e-6
    }

    /// Whether the table reaches up to a temperature.
    pub fn covers(&self, hot_c: f64) -> bool {
        self.expansion.last().is_some_and(|last| hot_c <= last.0)
    }

    /// How much longer a length gets from one temperature to another, as a share: mean expansion to each from
    /// 20 deg C.
    pub fn growth_share(&self, cold_c: f64, hot_c: f64) -> f64 {
        let from_20 = |c: f64| self.mean_expansion_per_k(c) * (c - 20.0);
        from_20(hot_c) - from_20(cold_c)
    }
}
