//! The guide's examples run and print what it says; its tables are those of the program.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::script_support;

use std::fs;
use std::path::{Path, PathBuf};

use baywright::script::reference_table;
use script_support::printed;

const BEGIN: &str = "<!-- functions: begin";
const END: &str = "<!-- functions: end -->";

fn guide() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/scripting.md")
}

/// The fenced blocks of the guide: language, text, line of the fence.
fn blocks(text: &str) -> Vec<(String, String, usize)> {
    let mut blocks: Vec<(String, String, usize)> = Vec::new();
    let mut open = false;
    for (number, line) in text.lines().enumerate() {
        match line.strip_prefix("```") {
            Some(_) if open => open = false,
            Some(language) => {
                open = true;
                blocks.push((language.to_owned(), String::new(), number + 1));
            }
            None if open => {
                let block = &mut blocks.last_mut().unwrap().1;
                block.push_str(line);
                block.push('\n');
            }
            None => {}
        }
    }
    assert!(!open, "a block is never closed");
    blocks
}

#[test]
fn every_example_prints_what_the_guide_says() {
    let text = fs::read_to_string(guide()).unwrap();
    let blocks = blocks(&text);
    let mut wrong = Vec::new();
    for pair in blocks.windows(2).filter(|pair| pair[0].0 == "rhai") {
        let [(_, source, line), (language, want, _)] = pair else { unreachable!() };
        assert_eq!(language, "text", "the example at line {line} does not say what it prints");
        let got: String = printed(source).iter().map(|line| format!("{line}\n")).collect();
        if got != *want {
            wrong.push(format!("line {line}: got\n{got}want\n{want}"));
        }
    }
    assert!(blocks.len() >= 20, "{} blocks", blocks.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_is_that_of_the_program() {
    let text = fs::read_to_string(guide()).unwrap();
    let start = text.find(BEGIN).unwrap();
    let start = start + text[start..].find('\n').unwrap() + 1;
    let end = text.find(END).unwrap();
    let want = format!("\n{}\n", reference_table());
    if std::env::var_os("UPDATE_EXPECTED").is_some() {
        fs::write(guide(), format!("{}{want}{}", &text[..start], &text[end..])).unwrap();
        return;
    }
    assert!(text[start..end] == want, "the guide's table is old: see its comment for how to renew it");
}

#[test]
fn every_function_and_property_is_shown_in_an_example() {
    let text = fs::read_to_string(guide()).unwrap();
    let examples: String = blocks(&text)
        .into_iter()
        .filter(|(language, ..)| language == "rhai")
        .map(|(_, text, _)| text)
        .collect();
    let mut unseen = Vec::new();
    let mut functions = 0;
    for line in reference_table().lines().filter(|line| line.starts_with("| `")) {
        let written = line.trim_start_matches("| `").split('`').next().unwrap();
        let Some((name, _)) = written.split_once('(') else { continue };
        functions += 1;
        let name = name.rsplit('.').next().unwrap();
        if !examples.contains(&format!("{name}(")) {
            unseen.push(name.to_owned());
        }
    }
    assert!(functions >= 40, "{functions} functions");
    assert!(unseen.is_empty(), "no example shows {}", unseen.join(", "));
}
