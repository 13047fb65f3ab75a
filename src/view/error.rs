//! What can go wrong when a scene is shown.

use std::path::PathBuf;

/// Why a picture or a window could not be made.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum ViewError {
    /// The machine has nothing that can draw in three dimensions.
    #[error("no graphics adapter can be had: {cause}")]
    #[diagnostic(
        code(view::no_adapter),
        help(
            "install a Vulkan driver; on a machine without a graphics card a software one will do (Debian and Ubuntu: `mesa-vulkan-drivers`)"
        )
    )]
    NoAdapter {
        /// What the renderer said.
        cause: String,
    },
    /// There is no screen on which a window could open.
    #[error("no display to open a window on: {cause}")]
    #[diagnostic(
        code(view::no_display),
        help(
            "run this at a machine with a desktop, or draw to a file with `baywright picture SCENE -o out.png`"
        )
    )]
    NoDisplay {
        /// What is missing.
        cause: String,
    },
    /// The renderer gave up while drawing.
    #[error("the renderer stopped while {doing}: {cause}")]
    #[diagnostic(
        code(view::renderer),
        help("try a smaller `size`; if it happens again, update the graphics driver")
    )]
    Renderer {
        /// What was going on.
        doing: &'static str,
        /// What the renderer said.
        cause: String,
    },
    /// The scene has no body that would show.
    #[error("nothing to show: {why}")]
    #[diagnostic(code(view::nothing), help("add a body to the scene, or hide fewer of them"))]
    Nothing {
        /// Why.
        why: &'static str,
    },
    /// A picture of this size cannot be drawn.
    #[error("a picture of {width} x {height} pixels cannot be drawn; each side must be {least} to {most}")]
    #[diagnostic(code(view::size), help("give a size such as 1600x1000"))]
    Size {
        /// Asked width.
        width: u32,
        /// Asked height.
        height: u32,
        /// Least side.
        least: u32,
        /// Greatest side.
        most: u32,
    },
    /// An option names a body that the scene doesn't have.
    #[error("there is no body `{name}` in the scene{}", nearest.as_deref().map(|n| format!("; did you mean `{n}`?")).unwrap_or_default())]
    #[diagnostic(code(view::unknown_body), help("use a body's name as the scene writes it"))]
    UnknownBody {
        /// The name given.
        name: String,
        /// The nearest name there is.
        nearest: Option<String>,
    },
    /// An option or a finding names a carrier that the scene doesn't have.
    #[error("there is no carrier `{name}` in the scene; it has: {known}")]
    #[diagnostic(code(view::unknown_carrier), help("use a carrier's name as the scene writes it"))]
    UnknownCarrier {
        /// The name given.
        name: String,
        /// Those there are.
        known: String,
    },
    /// A carrier is given the wrong number of values.
    #[error("carrier `{carrier}` has {expected} freedoms ({words}); {got} values were given")]
    #[diagnostic(code(view::values), help("give one value a freedom, in that order; rest is 0"))]
    ValueCount {
        /// Carrier.
        carrier: String,
        /// How many freedoms it has.
        expected: usize,
        /// Their words.
        words: String,
        /// How many values came.
        got: usize,
    },
    /// A carrier is asked to move beyond its range.
    #[error("carrier `{carrier}`: {word} {value} is outside its range, {from} to {to}")]
    #[diagnostic(code(view::range), help("keep to the range, or widen it in the scene"))]
    OutOfRange {
        /// Carrier.
        carrier: String,
        /// The freedom's word.
        word: String,
        /// The value, with its unit.
        value: String,
        /// Least.
        from: String,
        /// Greatest.
        to: String,
    },
    /// A finding is asked for that isn't there.
    #[error("there is no finding {asked}; the check gave {count}, counted from 1")]
    #[diagnostic(
        code(view::unknown_finding),
        help("the number is the one at the left of the findings table")
    )]
    UnknownFinding {
        /// The number asked for, from 1.
        asked: usize,
        /// How many there are.
        count: usize,
    },
    /// A finding is asked for that isn't at a place.
    #[error("finding {asked} is about no place, so there is nothing to fly to: {message}")]
    #[diagnostic(code(view::no_place), help("leave the focus out, or pick a finding with a gap"))]
    NoPlace {
        /// The number asked for, from 1.
        asked: usize,
        /// The finding's sentence.
        message: String,
    },
    /// A way in is to be shown, and there is none.
    #[error("there is no way in to be shown for {body}")]
    #[diagnostic(code(view::no_way), help("give a file in which `baywright way-in` found a way"))]
    NoWay {
        /// The body.
        body: String,
    },
    /// A film strip would have more pictures than can be followed.
    #[error("the strip would have {count} pictures, one a move; {most} at most are drawn")]
    #[diagnostic(
        code(view::long_strip),
        help("give the search more time, so that it finds fewer moves, or ask for fewer parts at once")
    )]
    LongStrip {
        /// How many it would be.
        count: usize,
        /// How many there may be.
        most: usize,
    },
    /// A cut is asked for in a view that looks along no axis.
    #[error("a cut needs a view along an axis; `{view}` looks across them")]
    #[diagnostic(code(view::cut), help("use one of: front, rear, left, right, above"))]
    CutAcross {
        /// The view's word.
        view: &'static str,
    },
    /// A view word that isn't one.
    #[error("`{word}` is no view; the views are: {known}")]
    #[diagnostic(code(view::unknown_view), help("use one of those words"))]
    UnknownView {
        /// The word given.
        word: String,
        /// Those there are.
        known: String,
    },
    /// The pixels could not be made a PNG.
    #[error("the picture could not be encoded as PNG")]
    #[diagnostic(code(view::encode), help("this is a fault of Baywright's: please report it"))]
    Encode(#[source] image::ImageError),
    /// The file could not be written.
    #[error("`{}` could not be written", path.display())]
    #[diagnostic(code(view::write), help("check that the folder exists, is writable and has room"))]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        cause: std::io::Error,
    },
}
