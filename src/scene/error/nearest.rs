//! The known word that a misspelt one most likely meant.

/// The known word nearest in spelling, when it is near enough to be meant.
///
/// Letters' case and `_` against `-` or a blank count for nothing; of two equally near the earlier wins.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let plain = |text: &str| text.to_lowercase().replace(['_', ' '], "-");
    let word = plain(word);
    let letters = word.chars().count();
    if letters > 64 {
        return None;
    }
    let most = (letters / 3).clamp(1, 3);
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let plain_candidate = plain(candidate);
        let mut steps = strsim::osa_distance(&word, &plain_candidate);
        // `battery` for `battery-left`: one begins with the other.
        if steps > most && letters >= 3 && plain_candidate.starts_with(&format!("{word}-")) {
            steps = most;
        }
        if steps <= most && best.is_none_or(|(least, _)| steps < least) {
            best = Some((steps, candidate));
        }
    }
    best.map(|(_, candidate)| candidate.to_owned())
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn finds_what_was_meant() {
        let known = ["battery-left", "battery-right", "firewall", "hot"];
        for (case, word, want) in [
            ("two letters swapped is one step", "fierwall", Some("firewall")),
            ("underscore for stroke costs nothing", "Battery_Left", Some("battery-left")),
            ("the beginning of a name", "battery", Some("battery-left")),
            ("a short word allows one step", "hoot", Some("hot")),
            ("nothing is near", "radiator", None),
            ("an empty word is near to nothing", "", None),
        ] {
            assert_eq!(nearest(word, known).as_deref(), want, "{case}");
        }
    }
}
