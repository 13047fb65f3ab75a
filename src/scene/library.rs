//! The built-in library: what scenes include by `house:NAME`, and facts that every scene knows.

use sha2::{Digest, Sha256};

/// Files that a scene may include, by name.
const INCLUDABLE: &[(&str, &str)] = &[
    ("rules/common", include_str!("../../scenes/rules/common.yaml")),
    ("people/standing", include_str!("../../scenes/people/standing.yaml")),
];

/// Files that every scene knows without asking: sizes, figures and words, no rules.
const FACTS: &[(&str, &str)] = &[
    ("roles", include_str!("../../scenes/roles.yaml")),
    ("materials", include_str!("../../scenes/materials.yaml")),
    ("openings", include_str!("../../scenes/openings.yaml")),
    ("instruments/shop", include_str!("../../scenes/instruments/shop.yaml")),
    ("benders/shop", include_str!("../../scenes/benders/shop.yaml")),
    ("step-times", include_str!("../../scenes/step-times.yaml")),
    ("people/reach", include_str!("../../scenes/people/reach.yaml")),
    ("people/hands", include_str!("../../scenes/people/hands.yaml")),
    ("tools/shop", include_str!("../../scenes/tools/shop.yaml")),
];

/// A file that may be included; facts too, to no effect.
pub(crate) fn find(name: &str) -> Option<&'static str> {
    INCLUDABLE.iter().chain(FACTS).find(|(known, _)| *known == name).map(|(_, text)| *text)
}

/// Names of all files of the library.
pub(crate) fn names() -> impl Iterator<Item = &'static str> {
    INCLUDABLE.iter().chain(FACTS).map(|(name, _)| *name)
}

/// Name and text of the facts.
pub(crate) fn facts() -> impl Iterator<Item = (&'static str, &'static str)> {
    FACTS.iter().copied()
}

/// SHA-256 of the whole library, so that two programs can tell whether they know the same.
pub(crate) fn digest() -> String {
    let mut hash = Sha256::new();
    for (name, text) in INCLUDABLE.iter().chain(FACTS) {
        for part in [*name, *text] {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part);
        }
    }
    hex(&hash.finalize())
}

/// Bytes as lower-case hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
