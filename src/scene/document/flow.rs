//! Values written in one line.

use crate::scene::read::{Node, NodeKind};

/// A text as a YAML scalar that reads back as the same text.
pub(super) fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | '/' | '+' | ' ');
    let safe = text.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '.' | '/'))
        && text.chars().all(plain)
        && text.trim() == text
        && !matches!(text.to_lowercase().as_str(), "null" | "true" | "false" | "yes" | "no" | "on" | "off");
    if safe {
        return text.to_owned();
    }
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}' | '\u{FEFF}') => {
                out.push_str(&format!("\\u{:04X}", c as u32));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A number with at most so many decimals, zeros at the end left out.
pub(super) fn figure(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A node in one line.
pub(super) fn flow(node: &Node) -> String {
    match &node.real().kind {
        NodeKind::Nothing | NodeKind::Alias(_) => "~".to_owned(),
        // `true` and numbers need no quotes: every scalar of the format is read as text.
        NodeKind::Scalar(text) if matches!(text.as_str(), "true" | "false") => text.clone(),
        NodeKind::Scalar(text) => match text.parse::<f64>() {
            Ok(value) if value.is_finite() => text.clone(),
            _ => quoted(text),
        },
        NodeKind::List(items, _) => {
            let items: Vec<String> = items.iter().map(|item| flow(item)).collect();
            format!("[{}]", items.join(", "))
        }
        NodeKind::Map(entries, _) => {
            let entries: Vec<String> = entries
                .iter()
                .map(|entry| format!("{}: {}", quoted(&entry.key), flow(&entry.value)))
                .collect();
            format!("{{{}}}", entries.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_lose_only_zeros() {
        for (value, decimals, want) in [
            (1.5, 6, "1.5"),
            (100.0, 6, "100"),
            (-0.0000001, 6, "0"),
            (0.1 + 0.2, 9, "0.3"),
            (-2.25, 1, "-2.2"),
        ] {
            assert_eq!(figure(value, decimals), want);
        }
    }

    #[test]
    fn texts_read_back_as_themselves() {
        use crate::scene::error::Faults;
        use crate::scene::read::{Source, tree_of};
        for text in [
            "plain",
            "two words",
            "a: b",
            "# no",
            "\"q\"",
            "back\\slash",
            "line\nfeed",
            "null",
            "~",
            "",
            " pad ",
            "- x",
            "{",
            "é",
            "1e5",
            "*a",
            "&b",
            "!t",
            "%d",
            "@x",
            "`y`",
            "\u{7}",
            "trailing:",
            "a #b",
            "\u{2028}",
        ] {
            let faults = Faults::default();
            let document = format!("k: [{}, {{a: {}}}]\n", quoted(text), quoted(text));
            let root = tree_of(&Source::new("t", &document), &faults);
            let got = root.as_ref().and_then(|root| match &root.get("k")?.value.kind {
                NodeKind::List(items, _) => items[0].scalar().map(str::to_owned),
                _ => None,
            });
            assert_eq!(got.as_deref(), Some(text), "{document}");
        }
    }
}
