//! The house stands: each floor imports only from those under it, and no two rooms of one floor import
//! each other. Reads the source, so that the diagram in `src/lib.rs` cannot lie.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// From the ground up; rooms of one row stand side by side.
const FLOORS: &[&[&str]] = &[
    &["space"],
    &["solid"],
    &["clearance"],
    &["motion"],
    &["tube", "hose", "calc", "survey"],
    &["way_in", "access", "route"],
    // upper wing
    &["scene"],
    &["check", "assembly"],
    &["script"],
    &["study"],
    &["view", "report"],
    &["cli"],
];

/// Rooms of the lower wing are pure: they have never heard of documents, scripts, windows or commands.
const LOWER_WING: usize = 6;
const UPPER_ONLY: &[&str] = &["serde_yaml", "rhai", "kiss3d", "clap", "zip", "sha2"];

fn floor_of(room: &str) -> Option<usize> {
    FLOORS.iter().position(|rooms| rooms.contains(&room))
}

fn sources(under: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(under).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Source lines without comments and without test modules' `mod tests { .. }` at the end of a file.
fn code_lines(text: &str) -> Vec<(usize, String)> {
    let mut lines = Vec::new();
    for (at, line) in text.lines().enumerate() {
        if line.trim_start().starts_with("mod tests") {
            break;
        }
        let code = line.split("//").next().unwrap_or_default();
        lines.push((at + 1, code.to_owned()));
    }
    lines
}

/// Rooms named after `crate::`, also in `use crate::{a::X, b}`.
fn rooms_named(code: &str) -> Vec<String> {
    let word =
        |text: &str| -> String { text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect() };
    let mut rooms = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        if let Some(list) = rest.strip_prefix('{') {
            let mut depth = 0;
            let mut start = true;
            for (i, c) in list.char_indices() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => start = true,
                    c if start && !c.is_whitespace() => {
                        rooms.push(word(&list[i..]));
                        start = false;
                    }
                    _ => {}
                }
            }
        } else {
            rooms.push(word(rest));
        }
    }
    rooms
}

fn src() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

#[test]
fn every_floor_imports_only_from_those_under_it() {
    let mut faults = Vec::new();
    let mut imports: BTreeMap<(String, String), usize> = BTreeMap::new();
    for path in sources(&src()) {
        let inside = path.strip_prefix(src()).unwrap();
        let mut parts = inside.components();
        let room = parts.next().unwrap().as_os_str().to_string_lossy().into_owned();
        if parts.next().is_none() {
            continue; // lib.rs and main.rs stand outside the rooms
        }
        let Some(floor) = floor_of(&room) else {
            faults.push(format!("{}: `{room}` has no floor in this test's FLOORS", inside.display()));
            continue;
        };
        for (line, code) in code_lines(&fs::read_to_string(&path).unwrap()) {
            for named in rooms_named(&code) {
                let Some(below) = floor_of(&named) else { continue };
                if named != room {
                    *imports.entry((room.clone(), named.clone())).or_default() += 1;
                    if below >= floor {
                        faults.push(format!("{}:{line}: `{room}` imports `{named}`", inside.display()));
                    }
                }
            }
            if floor < LOWER_WING {
                for name in UPPER_ONLY {
                    if code.contains(&format!("{name}::")) {
                        faults.push(format!("{}:{line}: the lower wing imports {name}", inside.display()));
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    // The test sees imports at all: without these the house would have no line through it.
    for pair in [("check", "motion"), ("motion", "clearance"), ("clearance", "solid"), ("scene", "survey")] {
        assert!(
            imports.contains_key(&(pair.0.to_owned(), pair.1.to_owned())),
            "no import seen from {pair:?}"
        );
    }
}

#[test]
fn imports_in_lists_are_seen() {
    assert_eq!(rooms_named("use crate::{check::{A, B}, scene::C, space};"), ["check", "scene", "space"]);
    assert_eq!(rooms_named("let a = crate::view::b(crate::cli::c());"), ["view", "cli"]);
}

#[test]
fn a_room_opens_with_what_it_is_for_and_holds_no_code() {
    let mut faults = Vec::new();
    for path in sources(&src()).into_iter().filter(|path| path.ends_with("mod.rs")) {
        let text = fs::read_to_string(&path).unwrap();
        let name = path.strip_prefix(src()).unwrap().display().to_string();
        if !text.starts_with("//!") {
            faults.push(format!("{name} does not open with what it is for"));
        }
        for (line, code) in code_lines(&text) {
            if ["fn ", "struct ", "enum ", "impl ", "trait "]
                .iter()
                .any(|word| code.trim_start().trim_start_matches("pub ").starts_with(word))
            {
                faults.push(format!("{name}:{line}: code in a mod.rs"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn nothing_is_kept_in_a_drawer() {
    for path in sources(&src()) {
        let text = path.display().to_string();
        for drawer in ["utils", "util.rs", "helpers", "misc", "common.rs"] {
            assert!(
                !text.ends_with(&format!("{drawer}.rs")) && !text.contains(&format!("/{drawer}/")),
                "{text}"
            );
        }
    }
}
