//! Asking for gaps: the door through which a script reads its result back.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

use nalgebra::Point3;

use crate::scene::{Scene, Span};
use crate::space::Length;

/// When a gap is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// Carriers at rest.
    AtRest,
    /// The least over all movements of the carriers.
    OverMovement,
}

/// A gap between two bodies with wrap, coating and sheath on, vehicle axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Gap {
    /// The gap; negative is overlap depth. Over a movement: the proved lower bound, so that a
    /// script errs to the safe side.
    pub gap: Length,
    /// The place on the first body.
    pub on_first: Point3<f64>,
    /// The place on the second.
    pub on_second: Point3<f64>,
    /// The pose in words: `at rest`, `engine rock +3.0 deg`.
    pub pose: String,
}

/// Answers a script's questions about gaps.
///
/// `run_script` asks on the thread that called it, one question at a time.
pub trait Asker {
    /// The gap between two bodies of the scene as the script has left it at that moment. Both
    /// names are bodies of `scene`.
    ///
    /// # Errors
    /// A sentence for a person; the script stops with it unless it catches it.
    fn gap(&self, scene: &Scene, first: &str, second: &str, when: When) -> Result<Gap, String>;
}

/// A gap that a script asked for, and the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// First body.
    pub first: String,
    /// Second body.
    pub second: String,
    /// At rest or over the movement.
    pub when: When,
    /// The answer.
    pub answer: Result<Gap, String>,
    /// Where it was asked.
    pub span: Span,
}

/// One question on its way from the script's thread to the caller's.
pub(super) struct Question {
    pub(super) scene: Arc<Scene>,
    pub(super) first: String,
    pub(super) second: String,
    pub(super) when: When,
}

type Answer = Result<Gap, String>;

/// The script's end of the line.
pub(super) struct Line {
    questions: SyncSender<Question>,
    answers: Receiver<Answer>,
}

/// The caller's end of the line.
pub(super) struct Counter {
    questions: Receiver<Question>,
    answers: SyncSender<Answer>,
}

/// A line between the script's thread and the caller's.
pub(super) fn line() -> (Line, Counter) {
    let (question_out, question_in) = sync_channel(0);
    let (answer_out, answer_in) = sync_channel(1);
    (
        Line { questions: question_out, answers: answer_in },
        Counter { questions: question_in, answers: answer_out },
    )
}

impl Line {
    /// Asks and waits.
    pub(super) fn ask(&self, question: Question) -> Answer {
        let closed = || "nobody is left to answer".to_owned();
        self.questions.send(question).map_err(|_| closed())?;
        self.answers.recv().map_err(|_| closed())?
    }
}

impl Counter {
    /// Answers until the script's thread is done.
    pub(super) fn serve(self, ask: &dyn Asker) {
        for Question { scene, first, second, when } in self.questions {
            let answer = ask.gap(&scene, &first, &second, when);
            // The scene is let go first: then the script changes its own without a copy.
            drop(scene);
            if self.answers.send(answer).is_err() {
                return;
            }
        }
    }
}
