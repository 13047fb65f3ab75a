//! What a script may spend, and how its bare numbers are meant.

use std::path::PathBuf;
use std::time::Duration;

use crate::space::LengthUnit;

/// How a script is run: what its bare numbers mean, where it may import from, and its limits.
///
/// Every limit stops the script with an error that names the limit and the field here that raises
/// it. All but [`time`](Self::time) depend on the script alone, so that a run gives the same answer
/// on every machine.
///
/// # Example
/// ```
/// use baywright::script::ScriptOptions;
/// let patient = ScriptOptions { gaps: 20_000, ..ScriptOptions::default() };
/// assert_eq!(patient.bodies, 500);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct ScriptOptions {
    /// What a bare number means as a length, and the unit of numbers that are read back: the
    /// scene's `units`.
    pub units: LengthUnit,
    /// The folder beside which scripts may be imported: the scene's. `None`: only `house/...`.
    pub folder: Option<PathBuf>,
    /// Author of the notes that the script leaves; the script's name when `None`.
    pub author: Option<String>,
    /// Date of the notes that the script leaves, `YYYY-MM-DD`. A script has no clock, so that a run
    /// can be repeated; whoever runs it may say the date.
    pub date: Option<String>,
    /// Steps of the interpreter, imported scripts included. A script that places a turbo spends
    /// some 300; a sweep over 10 000 spots some 1 000 000.
    pub operations: u64,
    /// Functions that call functions, how deep. Recursion is the usual reason to meet it.
    pub call_depth: usize,
    /// Nesting of one expression. Twice what careful code needs.
    pub expression_depth: usize,
    /// Variables alive in one function.
    pub variables: usize,
    /// Functions that one script defines.
    pub functions: usize,
    /// Bytes of one text. A note or a printed line is far shorter.
    pub text_bytes: usize,
    /// Entries of one list, those of lists within it included.
    pub list_entries: usize,
    /// Entries of one map, those of maps within it included.
    pub map_entries: usize,
    /// Bodies placed in one run.
    pub bodies: usize,
    /// Corners, parts and points of all shapes made in one run: bounds the memory that shapes take.
    pub shape_parts: usize,
    /// Gaps asked for in one run; over a movement each may take milliseconds.
    pub gaps: usize,
    /// Notes left in one run.
    pub notes: usize,
    /// Bytes of one script, imported ones each for itself.
    pub script_bytes: usize,
    /// Different scripts imported in one run.
    pub imports: usize,
    /// Printed lines kept; later ones are counted and dropped.
    pub printed_lines: usize,
    /// Wall-clock time. The only limit that depends on the machine: it never changes an answer, it
    /// only withholds it. `None`: no limit.
    pub time: Option<Duration>,
}

impl Default for ScriptOptions {
    fn default() -> Self {
        ScriptOptions {
            units: LengthUnit::Millimetre,
            folder: None,
            author: None,
            date: None,
            operations: 2_000_000,
            call_depth: 32,
            expression_depth: 64,
            variables: 200,
            functions: 200,
            text_bytes: 16 * 1024,
            list_entries: 4_000,
            map_entries: 500,
            bodies: 500,
            shape_parts: 200_000,
            gaps: 5_000,
            notes: 100,
            script_bytes: 256 * 1024,
            imports: 16,
            printed_lines: 1_000,
            time: Some(Duration::from_secs(30)),
        }
    }
}
