//! From the interpreter's errors to ours: place, cause and remedy in a fabricator's words.

use miette::NamedSource;
use rhai::{Dynamic, EvalAltResult, LexError, ParseErrorType, Position};

use super::book;
use super::desk::Desk;
use super::error::{ScriptError, Trace};
use super::fault::Fault;
use super::host;
use super::house;
use super::kind::{did_you_mean, nearest, shortened, type_word, with_article};
use super::options::ScriptOptions;
use super::source;

impl ScriptError {
    /// An error that no line of the script is to blame for.
    pub(super) fn without_place(file: &str, fault: &Fault) -> Self {
        ScriptError {
            code: fault.code,
            message: fault.message.clone(),
            help: fault.help.clone(),
            file: file.to_owned(),
            line: 0,
            column: 0,
            quoted: String::new(),
            trace: Vec::new(),
            source: NamedSource::new(file, String::new()),
            mark: (0, 0).into(),
        }
    }
}

/// A place in a script while its error is being told.
#[derive(Clone)]
struct Place {
    file: String,
    position: Position,
}

/// Tells an error of the interpreter.
pub(super) fn explain(error: &EvalAltResult, desk: &Desk) -> ScriptError {
    let (mut trace, leaf, place) = descend(error, &desk.script);
    let text_of = |file: &str| desk.sources.get(file).map_or("", |text| text.as_ref());
    let mut fault = fault_of(leaf, text_of(&place.file), desk);
    // A house script is not the user's to mend: the error stands where the user called it.
    let in_house = place.file.starts_with(house::PREFIX);
    let shown = if in_house {
        if let Some((function, _)) =
            trace.iter().rev().find(|(_, call)| !call.file.starts_with(house::PREFIX))
        {
            fault.message = format!("`{function}` of `{}` cannot go on: {}", place.file, fault.message);
        }
        let text = text_of(&place.file);
        let at = offset_of(text, place.position);
        trace.push((text.get(source::word_at(text, at)).unwrap_or("").to_owned(), place.clone()));
        trace
            .iter()
            .rev()
            .map(|(_, place)| place)
            .find(|place| !place.file.starts_with(house::PREFIX))
            .cloned()
    } else {
        None
    };
    let blamed = if in_house { None } else { fault.argument };
    let shown = shown.unwrap_or(place);
    let text = text_of(&shown.file);
    let trace = trace
        .into_iter()
        .map(|(function, place)| Trace {
            function,
            line: place.position.line().unwrap_or(0),
            column: place.position.position().unwrap_or(0),
            file: place.file,
        })
        .collect();
    let mut told = ScriptError { trace, ..ScriptError::without_place(&shown.file, &fault) };
    if shown.position.is_none() || text.is_empty() {
        return told;
    }
    let at = offset_of(text, shown.position);
    let mark = blamed
        .and_then(|index| source::argument(text, at, index))
        .unwrap_or_else(|| source::word_at(text, at));
    let line_start = text[..mark.start].rfind('\n').map_or(0, |end| end + 1);
    told.line = text[..mark.start].matches('\n').count() + 1;
    told.column = text[line_start..mark.start].chars().count() + 1;
    told.quoted = text[line_start..].lines().next().unwrap_or("").to_owned();
    told.source = NamedSource::new(&shown.file, text.to_owned());
    told.mark = (mark.start, mark.len()).into();
    told
}

fn offset_of(text: &str, position: Position) -> usize {
    source::offset(text, position.line().unwrap_or(1), position.position().unwrap_or(1))
}

/// The calls on the way, the error itself and where it stands.
fn descend<'a>(error: &'a EvalAltResult, script: &str) -> (Vec<(String, Place)>, &'a EvalAltResult, Place) {
    let mut file = script.to_owned();
    let mut trace: Vec<(String, Place)> = Vec::new();
    let mut leaf = error;
    loop {
        match leaf {
            EvalAltResult::ErrorInFunctionCall(function, source, inner, position) => {
                let name = if function.starts_with("anon$") { "a function without a name" } else { function };
                trace.push((name.to_owned(), Place { file: file.clone(), position: *position }));
                if !source.is_empty() {
                    file.clone_from(source);
                }
                leaf = inner;
            }
            EvalAltResult::ErrorInModule(name, inner, position) => {
                trace.push((format!("import {name}"), Place { file: file.clone(), position: *position }));
                file.clone_from(name);
                leaf = inner;
            }
            _ => break,
        }
    }
    let place = Place { file, position: leaf.position() };
    match trace.last() {
        Some((_, call)) if place.position.is_none() => {
            let call = call.clone();
            (trace, leaf, call)
        }
        _ => (trace, leaf, place),
    }
}

fn fault_of(leaf: &EvalAltResult, text: &str, desk: &Desk) -> Fault {
    let options = &desk.options;
    match leaf {
        EvalAltResult::ErrorRuntime(value, _) | EvalAltResult::ErrorTerminated(value, _) => thrown(value),
        EvalAltResult::ErrorParsing(kind, _) => grammar(kind, options),
        EvalAltResult::ErrorVariableNotFound(name, _) => unknown_name(name, text),
        EvalAltResult::ErrorFunctionNotFound(signature, _) => unknown_function(signature, text, desk),
        EvalAltResult::ErrorModuleNotFound(name, _) => unknown_module(name),
        EvalAltResult::ErrorDotExpr(message, _) => property(message),
        EvalAltResult::ErrorPropertyNotFound(name, _) => Fault::new(
            "script::unknown_property",
            format!("the map has no `{name}`"),
            format!("ask first with `\"{name}\" in map`, or write `map.get(\"{name}\") ?? 0`"),
        ),
        EvalAltResult::ErrorIndexingType(types, _) => {
            let on = types.split(" [").next().unwrap_or(types);
            Fault::new(
                "script::type",
                format!("{} has no numbered entries", with_article(type_word(on))),
                "only lists, maps and texts take `[...]`; a point has `.x`, `.y` and `.z`",
            )
        }
        EvalAltResult::ErrorMismatchDataType(due, given, _)
        | EvalAltResult::ErrorMismatchOutputType(due, given, _) => {
            let given =
                if given.is_empty() { "something else".to_owned() } else { with_article(type_word(given)) };
            Fault::new(
                "script::type",
                format!("{} is due here; it is {given}", with_article(type_word(due))),
                "see what this expression gives",
            )
        }
        EvalAltResult::ErrorArrayBounds(length, index, _) => bounds("list", *length, *index),
        EvalAltResult::ErrorStringBounds(length, index, _) => bounds("text", *length, *index),
        EvalAltResult::ErrorIndexNotFound(index, _) => Fault::new(
            "script::bounds",
            format!("there is no entry `{index}`"),
            "see what is in it with `print`",
        ),
        EvalAltResult::ErrorFor(_) => Fault::new(
            "script::type",
            "`for` cannot go through this",
            "it goes through lists, texts and ranges: `for i in 0..8`, `for body in scene.bodies`",
        ),
        EvalAltResult::ErrorArithmetic(what, _) => Fault::new(
            "script::arithmetic",
            format!("this cannot be reckoned: {}", lower_first(what)),
            "see the numbers with `print`",
        ),
        EvalAltResult::ErrorTooManyOperations(_) => Fault::limit(
            "the script takes more steps than it may: perhaps a loop has no end",
            "operations",
            options.operations,
        ),
        EvalAltResult::ErrorTooManyVariables(_) => {
            Fault::limit("there are more variables than may be", "variables", options.variables)
        }
        EvalAltResult::ErrorTooManyModules(_) => {
            Fault::limit("more scripts are imported than may be", "imports", options.imports)
        }
        EvalAltResult::ErrorStackOverflow(_) => Fault::limit(
            "functions call functions deeper than they may: perhaps one calls itself without end",
            "call_depth",
            options.call_depth,
        ),
        EvalAltResult::ErrorDataTooLarge(what, _) => too_large(what, options),
        EvalAltResult::ErrorAssignmentToConstant(name, _) => Fault::new(
            "script::constant",
            format!("`{name}` is constant and cannot be changed"),
            "make it with `let`, or give the new value a name of its own",
        ),
        EvalAltResult::ErrorNonPureMethodCallOnConstant(..) => {
            Fault::new("script::constant", "a constant cannot be changed in place", "make it with `let`")
        }
        EvalAltResult::ErrorUnboundThis(_) => {
            Fault::new("script::syntax", "`this` means nothing here", "hand the value over as an argument")
        }
        EvalAltResult::LoopBreak(..) => {
            Fault::new("script::syntax", "`break` and `continue` belong inside a loop", "remove it")
        }
        EvalAltResult::ErrorForbiddenVariable(name, _) | EvalAltResult::ErrorVariableExists(name, _) => {
            Fault::new("script::name", format!("`{name}` cannot name a variable here"), "take another name")
        }
        other => {
            let told = other.to_string();
            let told = told.lines().next().unwrap_or("");
            Fault::new("script::fault", format!("the script cannot go on: {}", lower_first(told)), SEE_GUIDE)
        }
    }
}

fn thrown(value: &Dynamic) -> Fault {
    if let Some(fault) = value.read_lock::<Fault>() {
        return fault.clone();
    }
    let said =
        if value.is_unit() { String::new() } else { format!(": {}", shortened(&value.to_string(), 400)) };
    Fault::new("script::thrown", format!("the script stopped itself{said}"), "the `throw` there says why")
}

fn unknown_name(name: &str, text: &str) -> Fault {
    let given = source::given_names(text);
    let message = format!("nothing is called `{name}` here");
    if given.contains(&name) {
        return Fault::new(
            "script::unknown_name",
            message,
            format!(
                "a function sees its arguments only, and a block what was made before: hand `{name}` over, or make it earlier"
            ),
        );
    }
    let constants = host::constants();
    let names = constants.iter().map(|(name, _)| *name);
    if book::entries().any(|entry| entry.name == name) {
        return Fault::new(
            "script::unknown_name",
            message,
            format!("`{name}` is a function: write `{name}(...)`"),
        );
    }
    let near = did_you_mean(name, names.clone().chain(given));
    let always: Vec<&str> = names.collect();
    Fault::new(
        "script::unknown_name",
        message,
        format!("{near}make it with `let`; always there are {}", always.join(", ")),
    )
}

/// Functions of the language itself that a misspelling may have meant.
const LANGUAGE: [&str; 32] = [
    "print",
    "debug",
    "abs",
    "sqrt",
    "sin",
    "cos",
    "tan",
    "atan",
    "hypot",
    "floor",
    "ceiling",
    "round",
    "to_int",
    "to_float",
    "to_string",
    "parse_float",
    "len",
    "push",
    "pop",
    "insert",
    "remove",
    "contains",
    "index_of",
    "map",
    "filter",
    "reduce",
    "sort",
    "keys",
    "values",
    "min",
    "max",
    "range",
];

fn unknown_function(signature: &str, text: &str, desk: &Desk) -> Fault {
    let (name, types) = signature.split_once(" (").unwrap_or((signature, ")"));
    let name = name.trim();
    let types = types.trim_end_matches(')');
    // Texts arrive as `&str | ImmutableString | String`: no comma within a type.
    let given: Vec<String> =
        types.split(", ").filter(|part| !part.is_empty()).map(|part| with_article(type_word(part))).collect();
    if let Some((module, function)) = name.rsplit_once("::") {
        return unknown_in_module(module, function, given.len(), desk);
    }
    if !name.starts_with(|c: char| c.is_alphabetic() || c == '_') {
        let with = match given.as_slice() {
            [one] => one.clone(),
            [one, other] => format!("{one} and {other}"),
            _ => given.join(", "),
        };
        return Fault::new(
            "script::type",
            format!("`{name}` does not go with {with}"),
            "points add and subtract, a direction times a length is a step, numbers go with numbers; `length(\"2 in\")` makes a number of a text",
        );
    }
    let signatures: Vec<String> = book::entries()
        .filter(|entry| entry.name == name)
        .map(|entry| format!("`{}`", entry.signature()))
        .collect();
    if !signatures.is_empty() {
        let method = book::entries().any(|entry| entry.name == name && entry.style == book::Style::Method);
        let count = given.len();
        let with = match count {
            0 => "nothing".to_owned(),
            _ => given.join(", "),
        };
        let counted = if method { ", the one before the point included" } else { "" };
        return Fault::new(
            "script::arguments",
            format!(
                "`{name}` is given {count} argument{}{counted}: {with}",
                if count == 1 { "" } else { "s" }
            ),
            format!("write {}", signatures.join(" or ")),
        );
    }
    let own = source::given_functions(text);
    if let Some(own) = own.iter().find(|own| own.name == name) {
        return Fault::new(
            "script::arguments",
            format!("`{name}` is given {} argument{}", given.len(), if given.len() == 1 { "" } else { "s" }),
            format!("the script defines `{}`", own.signature),
        );
    }
    if LANGUAGE.contains(&name) {
        return Fault::new(
            "script::arguments",
            format!(
                "`{name}` does not go with {}",
                if given.is_empty() { "nothing".to_owned() } else { given.join(", ") }
            ),
            "see the values with `print`",
        );
    }
    let near = nearest(
        name,
        book::entries().map(|entry| entry.name).chain(own.iter().map(|own| own.name)).chain(LANGUAGE),
    );
    let help = match near {
        Some(near) => {
            let written = book::entries()
                .filter(|entry| entry.name == near)
                .map(|entry| format!("`{}`", entry.signature()))
                .collect::<Vec<_>>();
            if written.is_empty() {
                format!("did you mean `{near}`?")
            } else {
                format!("did you mean {}?", written.join(" or "))
            }
        }
        None => {
            match given.first().map(|first| first.split_once(' ').map_or(first.as_str(), |(_, word)| word)) {
                Some(receiver) if !methods_of(receiver).is_empty() => {
                    format!("{} has {}", with_article(receiver), methods_of(receiver).join(", "))
                }
                _ => "all functions are listed in the scripting guide".to_owned(),
            }
        }
    };
    Fault::new("script::unknown_function", format!("there is no function `{}`", shortened(name, 60)), help)
}

fn methods_of(word: &str) -> Vec<String> {
    book::entries()
        .filter(|entry| entry.style == book::Style::Method)
        .filter(|entry| entry.params.first().is_some_and(|(_, kind)| kind.words().ends_with(word)))
        .map(|entry| format!("`.{}(...)`", entry.name))
        .collect()
}

fn unknown_in_module(module: &str, function: &str, count: usize, desk: &Desk) -> Fault {
    // The alias is the user's word; the functions are those of whichever script defines most alike.
    let all: Vec<(&str, source::GivenFunction<'_>)> = desk
        .sources
        .iter()
        .filter(|(file, _)| **file != desk.script)
        .flat_map(|(file, text)| {
            source::given_functions(text).into_iter().map(move |given| (file.as_str(), given))
        })
        .filter(|(_, given)| given.open)
        .collect();
    let known: Vec<String> = all
        .iter()
        .filter(|(_, given)| given.name == function)
        .map(|(_, given)| format!("`{module}::{}`", given.signature))
        .collect();
    if !known.is_empty() {
        return Fault::new(
            "script::arguments",
            format!("`{module}::{function}` is given {count} argument{}", if count == 1 { "" } else { "s" }),
            format!("write {}", known.join(" or ")),
        );
    }
    let near = did_you_mean(function, all.iter().map(|(_, given)| given.name));
    let in_module: Vec<String> = all
        .iter()
        .filter(|(file, _)| file.trim_end_matches(".rhai").ends_with(module))
        .map(|(_, given)| format!("`{module}::{}`", given.signature))
        .collect();
    let list = if in_module.is_empty() {
        "see what the imported script defines".to_owned()
    } else {
        format!("there are {}", in_module.join(", "))
    };
    Fault::new(
        "script::unknown_function",
        format!("`{module}` has no function `{}`", shortened(function, 60)),
        format!("{near}{list}"),
    )
}

fn unknown_module(name: &str) -> Fault {
    let short = name.trim_end_matches("::");
    let names = house::house_scripts().iter().map(|script| script.name);
    let help = match nearest(short, names) {
        Some(near) => format!("write `import \"{}{near}\" as {near};` at the top", house::PREFIX),
        None => format!("write `import \"path/from/the/scene\" as {short};` at the top"),
    };
    Fault::new("script::import", format!("no script is imported as `{short}`"), help)
}

fn property(message: &str) -> Fault {
    // The interpreter's own sentence: Unknown property 'X' - a getter is not registered for type 'T'.
    let quoted: Vec<&str> = message.split('\'').skip(1).step_by(2).collect();
    match quoted.as_slice() {
        [name, on] if message.starts_with("Unknown property") => {
            let on = type_word(on);
            let names = book::property_names(on);
            let method =
                book::entries().any(|entry| entry.style == book::Style::Method && entry.name == *name);
            let help = if method {
                format!("`{name}` is a function: write `.{name}(...)`")
            } else if names.is_empty() {
                "it has none".to_owned()
            } else {
                let near = did_you_mean(name, names.iter().copied());
                let known: Vec<String> = names.iter().map(|name| format!("`.{name}`")).collect();
                format!("{near}there are {}", known.join(", "))
            };
            Fault::new("script::unknown_property", format!("{} has no `.{name}`", with_article(on)), help)
        }
        [name, on, ..] if message.starts_with("No writable property") => Fault::new(
            "script::constant",
            format!("`.{name}` of {} cannot be set", with_article(type_word(on))),
            "make a new one; bodies are moved with `move_body` and renamed with `rename_body`",
        ),
        _ => Fault::new(
            "script::unknown_property",
            format!("this cannot be read: {}", lower_first(message)),
            SEE_GUIDE,
        ),
    }
}

fn bounds(what: &str, length: usize, index: i64) -> Fault {
    let have = match length {
        0 => format!("the {what} is empty"),
        1 => format!("the {what} has one entry, number 0"),
        _ => format!("the {what} has {length} entries, numbers 0 to {}", length - 1),
    };
    Fault::new(
        "script::bounds",
        format!("there is no entry {index}: {have}"),
        "numbers count from 0; negative ones from the end",
    )
}

fn too_large(what: &str, options: &ScriptOptions) -> Fault {
    if what.contains("string") {
        Fault::limit("a text grows longer than it may", "text_bytes", options.text_bytes)
    } else if what.contains("map") {
        Fault::limit("a map grows larger than it may", "map_entries", options.map_entries)
    } else {
        Fault::limit("a list grows longer than it may", "list_entries", options.list_entries)
    }
}

fn grammar(kind: &ParseErrorType, options: &ScriptOptions) -> Fault {
    let wrong = |message: String, help: &str| Fault::new("script::syntax", message, help);
    match kind {
        ParseErrorType::UnexpectedEOF => wrong(
            "the script ends in the middle of something".to_owned(),
            "close what is open: `}`, `)`, `]` or a quote",
        ),
        ParseErrorType::BadInput(lex) => match lex {
            LexError::UnterminatedString => wrong(
                "this text is never closed".to_owned(),
                "end it with `\"` on the same line; inches within a text are written `\\\"` or `in`",
            ),
            LexError::MalformedNumber(number) => {
                wrong(format!("`{number}` is not a number"), "fractions are texts: `length(\"2-1/2 in\")`")
            }
            LexError::MalformedEscapeSequence(escape) => {
                wrong(format!("`{escape}` is no escape"), "a backslash within a text is written `\\\\`")
            }
            LexError::ImproperSymbol(word, _) if word == "eval" => wrong(
                "`eval` is not at hand: a script runs what is written in it, no texts".to_owned(),
                "write it out, or make a function of it",
            ),
            LexError::ImproperSymbol(mark, why) if !mark.is_empty() => wrong(
                format!("`{mark}` means nothing here"),
                if why.is_empty() { "remove it" } else { "see how the guide writes it" },
            ),
            LexError::UnexpectedInput(mark) => wrong(
                format!("`{mark}` means nothing here"),
                "remove it, or close the bracket that is open before it",
            ),
            other => wrong(format!("this cannot be read: {}", lower_first(&other.to_string())), SEE_GUIDE),
        },
        ParseErrorType::MissingToken(token, why) => {
            let help = if token == ";" {
                "end the statement before with `;`"
            } else {
                "see what is open: every bracket and brace needs its other half, and entries of a list a comma"
            };
            wrong(format!("`{token}` is missing {}", lower_first(why)), help)
        }
        ParseErrorType::MissingSymbol(why) => wrong(lower_first(why), SEE_GUIDE),
        ParseErrorType::Reserved(word) => {
            wrong(format!("`{word}` is a word of the language and not at hand here"), "take another name")
        }
        ParseErrorType::ExprExpected(what) => {
            wrong(format!("{} is due here", with_article(what)), "write a value")
        }
        ParseErrorType::FnDuplicatedDefinition(name, count) => {
            wrong(format!("`{name}` with {count} arguments is defined twice"), "rename one of them")
        }
        ParseErrorType::WrongFnDefinition => wrong(
            "functions are defined outside blocks and other functions".to_owned(),
            "move it to the top level",
        ),
        ParseErrorType::AssignmentToConstant(name) => {
            wrong(format!("`{name}` is constant"), "make it with `let`")
        }
        ParseErrorType::LoopBreak => {
            wrong("`break` and `continue` belong inside a loop".to_owned(), "remove it")
        }
        ParseErrorType::ExprTooDeep => Fault::limit(
            "this expression is nested deeper than it may be",
            "expression_depth",
            options.expression_depth,
        ),
        ParseErrorType::TooManyFunctions => {
            Fault::limit("the script defines more functions than it may", "functions", options.functions)
        }
        ParseErrorType::LiteralTooLarge(what, _) => too_large(&what.to_lowercase(), options),
        ParseErrorType::VariableExpected => wrong("a name is due here".to_owned(), "`let name = ...;`"),
        ParseErrorType::PropertyExpected => {
            wrong("the name of a property is due here".to_owned(), "as in `battery.top`")
        }
        other => wrong(format!("this cannot be read: {}", lower_first(&other.to_string())), SEE_GUIDE),
    }
}

const SEE_GUIDE: &str = "the scripting guide shows how it is written";

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    // `BLOB`, `X`: a word in capitals stays.
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if first.is_uppercase() && second.is_lowercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => text.to_owned(),
    }
}
