//! Wrong scripts, one fault each: every one is refused with the message beside it, and none panics.
//!
//! `tests/bad-scripts/NAME.rhai` gives `tests/bad-scripts/NAME.txt`: the report as a person sees it,
//! then the same in one line. To take new messages over after reading them:
//! `UPDATE_EXPECTED=1 cargo test --no-default-features --test all script_bad`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::script_support;

use std::fs;
use std::path::{Path, PathBuf};

use baywright::report::fault_text;
use baywright::script::{ScriptOptions, run_script};
use script_support::{BoxAsker, bay};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad-scripts")
}

#[test]
fn every_wrong_script_is_told_where_what_and_the_cure() {
    let mut names: Vec<PathBuf> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "rhai"))
        .collect();
    names.sort();
    assert!(names.len() >= 15, "only {} wrong scripts", names.len());
    let mut wrong = Vec::new();
    for path in names {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let source = fs::read_to_string(&path).unwrap();
        let options = ScriptOptions { folder: Some(folder()), ..ScriptOptions::default() };
        let errors = match run_script(&source, &name, &bay(), &BoxAsker, &options) {
            Ok(run) => panic!("{name} ran; it printed {:?}", run.printed),
            Err(errors) => errors,
        };
        let error = &errors.list[0];
        assert!(error.line > 0, "{name}: the error has no place: {error}");
        if error.help.is_empty() {
            wrong.push(format!("== {name}: no remedy: {error}"));
        }
        let told: String =
            fault_text(error, false).lines().map(|line| format!("{}\n", line.trim_end())).collect();
        let told = format!("{told}\n{}\n", error.one_line());
        let expected = path.with_extension("txt");
        if std::env::var_os("UPDATE_EXPECTED").is_some() {
            fs::write(&expected, &told).unwrap();
        }
        let want = fs::read_to_string(&expected).unwrap_or_default();
        if told != want {
            wrong.push(format!("== {name}: got\n{told}\n-- want\n{want}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
