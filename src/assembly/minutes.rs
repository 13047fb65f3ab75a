//! How long the steps of mounting take, by the scene's table of step times.

use crate::scene::StepTime;

/// What fastens a part, and how long that takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Fastening {
    /// Names of the table with how often each counts.
    pub steps: Vec<(String, usize)>,
    /// Minutes of all of them.
    pub minutes: f64,
}

/// Number words that shops write.
const NUMBERS: [&str; 13] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
];

/// A fastener counts at most so often; what says more is no count.
const MOST: usize = 100;

/// What makes the number before it a size.
const UNITS: [&str; 12] = ["mm", "cm", "m", "in", "inch", "inches", "ft", "nm", "deg", "x", "bar", "percent"];

/// Words in lower case without signs; the two halves of a decimal stay together.
fn plain(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    let spaced: String = (0..letters.len())
        .map(|at| match letters[at] {
            '.' | ',' if digit(at.checked_sub(1)) && digit(Some(at + 1)) => '.',
            '\u{d7}' => 'x',
            c if c.is_alphanumeric() => c.to_ascii_lowercase(),
            _ => ' ',
        })
        .collect();
    spaced.split_whitespace().map(str::to_owned).collect()
}

/// The count that a word says; none where it is part of a size (`M8 x 25`, `10 mm`).
fn count_at(words: &[String], at: usize) -> Option<usize> {
    let is_size = at > 0 && words[at - 1] == "x"
        || words.get(at + 1).is_some_and(|next| UNITS.contains(&next.as_str()));
    let told = NUMBERS.iter().position(|number| *number == words[at]);
    let figure = || words[at].parse::<usize>().ok().filter(|number| *number <= MOST);
    if is_size { None } else { told.or_else(figure) }
}

/// What a text such as `hose and two clamps` takes by a table: every name that is there, the longest first, each stretch
/// of text counted once; times the number word that stands before it with at most two words between (`four M10 studs`).
///
/// # Example
/// ```
/// use baywright::assembly::fastening_minutes;
/// use baywright::scene::StepTime;
/// let step = |name: &str, minutes| StepTime { name: name.into(), minutes, source: "invented".into() };
/// let table = [step("clamp", 3.0), step("hose", 2.0), step("band clamp", 5.0)];
/// assert_eq!(fastening_minutes("hose and two clamps", &table).minutes, 8.0);
/// assert_eq!(fastening_minutes("band clamp", &table).minutes, 5.0);
/// assert_eq!(fastening_minutes("glue", &table).minutes, 0.0);
/// ```
pub fn fastening_minutes(by: &str, table: &[StepTime]) -> Fastening {
    let words = plain(by);
    let mut names: Vec<(&StepTime, Vec<String>)> = table
        .iter()
        .filter(|step| step.name != "part" && step.name != "move")
        .map(|step| (step, plain(&step.name)))
        .filter(|(_, words)| !words.is_empty())
        .collect();
    names.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.name.cmp(&b.0.name)));
    let same = |word: &str, name: &str| word == name || word.strip_suffix('s') == Some(name);
    let mut out = Fastening { steps: Vec::new(), minutes: 0.0 };
    let (mut at, mut count, mut since) = (0, 1, usize::MAX);
    while at < words.len() {
        let found = names.iter().find(|(_, name)| {
            at + name.len() <= words.len()
                && name.iter().zip(&words[at..]).all(|(name, word)| same(word, name))
        });
        if let Some((step, name)) = found {
            let times = if since <= 3 { count } else { 1 };
            out.steps.push((step.name.clone(), times));
            out.minutes += step.minutes * times as f64;
            at += name.len();
            (count, since) = (1, usize::MAX);
            continue;
        }
        match count_at(&words, at) {
            Some(number) => (count, since) = (number, 1),
            None => since = since.saturating_add(1),
        }
        at += 1;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_what_follows_them_closely() {
        let table: Vec<StepTime> =
            [("stud", 3.0), ("rivet nut", 2.0), ("v-band", 6.0), ("clamp", 1.0), ("part", 50.0)]
                .map(|(name, minutes)| StepTime {
                    name: name.to_owned(),
                    minutes,
                    source: "invented".to_owned(),
                })
                .into();
        for (by, want) in [
            ("four M10 studs in the slots", 12.0),
            ("four M6 rivet nuts", 8.0),
            ("V-band", 6.0),
            ("12 studs", 36.0),
            ("two 10 mm studs", 6.0),
            ("M8 x 25 stud", 3.0),
            ("1.5 m and clamp", 1.0),
            // The number belongs to the first thing after it.
            ("two studs and clamp", 7.0),
            ("one of the many long and thin studs", 3.0),
            ("part of the casting", 0.0),
            ("", 0.0),
        ] {
            assert_eq!(fastening_minutes(by, &table).minutes, want, "{by}");
        }
    }
}
