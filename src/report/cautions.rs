//! The cautions that every report ends with.

/// Said in every report: what can hurt, and who decides.
pub const CAUTIONS: [&str; 4] = [
    "Exhaust heat, fuel, coolant under pressure, moving belts, airbags, high voltage and raised vehicles hurt \
     people. Let hot parts cool, disconnect and support before work.",
    "A verdict is only as good as the measurements: check every tight place on the vehicle itself before \
     welding, and again before the engine is started.",
    "Emissions and safety equipment is governed by law: local codes and a licensed practitioner decide, not \
     this report.",
    "Gaps are screening figures for packaging; they say nothing about strength, heat or fire.",
];
