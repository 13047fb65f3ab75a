//! Lists of keys: what the decoder takes and what the reference prints are one and the same.

/// A map of the format with its keys.
#[derive(Debug)]
pub struct KeyTable {
    /// What the map is called in messages and in the reference: `a body`, `a plane fit`.
    pub title: &'static str,
    /// One or two sentences for the reference.
    pub intro: &'static str,
    /// Its keys, in the order in which they are best written.
    pub keys: &'static [Key],
}

/// One key of a map.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// The key.
    pub name: &'static str,
    /// What its value is.
    pub value: &'static str,
    /// Whether it must be there.
    pub need: Need,
    /// One line for the reference.
    pub doc: &'static str,
    /// An example of its value.
    pub example: &'static str,
}

/// Whether a key must be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Must,
    /// It may be left out; the default in words.
    May(&'static str),
    /// Exactly one of the keys of this group must be there.
    OneOf(&'static str),
}

pub(crate) const fn must(
    name: &'static str,
    value: &'static str,
    example: &'static str,
    doc: &'static str,
) -> Key {
    Key { name, value, need: Need::Must, doc, example }
}

pub(crate) const fn may(
    name: &'static str,
    value: &'static str,
    default: &'static str,
    example: &'static str,
    doc: &'static str,
) -> Key {
    Key { name, value, need: Need::May(default), doc, example }
}

pub(crate) const fn one_of(
    group: &'static str,
    name: &'static str,
    value: &'static str,
    example: &'static str,
    doc: &'static str,
) -> Key {
    Key { name, value, need: Need::OneOf(group), doc, example }
}

impl KeyTable {
    /// Names of all keys.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.keys.iter().map(|key| key.name)
    }

    /// The reference's table of this map, in Markdown.
    pub fn markdown(&self) -> String {
        let mut out = format!(
            "{}\n\n| key | value | needed | meaning | example |\n|---|---|---|---|---|\n",
            self.intro
        );
        for key in self.keys {
            let need = match key.need {
                Need::Must => "yes".to_owned(),
                Need::May(default) => format!("no: {default}"),
                Need::OneOf(group) => format!("one of {group}"),
            };
            let example = key.example.replace('|', "\\|");
            out.push_str(&format!(
                "| `{}` | {} | {need} | {} | `{}: {example}` |\n",
                key.name, key.value, key.doc, key.name
            ));
        }
        out
    }
}
