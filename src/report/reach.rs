//! Service points before and after a change, side by side.

use crate::check::{Finding, Findings};

use super::table::{Set, table};

/// A table of service points: verdict and figure before and after, and whether the change made it worse.
pub fn reach_table(before: &Findings, after: &Findings) -> String {
    let same = |a: &Finding, b: &Finding| a.rule == b.rule;
    let mut rows = Vec::new();
    for now in &after.list {
        let then = before.list.iter().find(|then| same(then, now));
        let figure = |finding: Option<&Finding>| {
            finding.map_or_else(
                || ("new".to_owned(), "-".to_owned()),
                |f| {
                    (
                        f.verdict.word().to_owned(),
                        f.actual.map_or_else(|| "-".to_owned(), |l| format!("{:.1}", l.mm())),
                    )
                },
            )
        };
        let ((old, old_mm), (new, new_mm)) = (figure(then), figure(Some(now)));
        let change = match then {
            None => "new",
            Some(then) if now.verdict > then.verdict => "worse",
            Some(then) if now.verdict < then.verdict => "better",
            Some(_) => "as before",
        };
        let need = now.required.map_or_else(|| "-".to_owned(), |l| format!("{:.1}", l.mm()));
        let name = now.rule.split('`').nth(1).unwrap_or(&now.rule);
        rows.push(vec![name.to_owned(), need, old_mm, old, new_mm, new, change.to_owned()]);
    }
    for then in before.list.iter().filter(|then| !after.list.iter().any(|now| same(then, now))) {
        let name = then.rule.split('`').nth(1).unwrap_or(&then.rule);
        let blank = || "-".to_owned();
        rows.push(vec![
            name.to_owned(),
            blank(),
            blank(),
            then.verdict.word().to_owned(),
            blank(),
            blank(),
            "gone".to_owned(),
        ]);
    }
    rows.sort();
    let heads = [
        ("service point", Set::Left),
        ("need", Set::Right),
        ("before", Set::Right),
        ("", Set::Left),
        ("after", Set::Right),
        ("", Set::Left),
        ("change", Set::Left),
    ];
    format!("{}\n", table(&heads, 0, &rows))
}
