//! Which part goes in after which.

use nalgebra::Vector3;

use crate::scene::Scene;
use crate::way_in::{Answer, Impossible, Leaves, Way, order};

use super::cage::caged;
use super::error::AssemblyError;
use super::look::{LEVELS, Look};
use super::seen::Shapes;

/// An order of assembly is asked for.
#[derive(Clone, Debug)]
pub struct OrderAsk<'a> {
    /// The scene with every part where it is mounted.
    pub scene: &'a Scene,
    /// Trees of its bodies.
    pub shapes: &'a Shapes,
    /// Names of the parts.
    pub kit: &'a [String],
    /// Bodies that are away all the time.
    pub without: &'a [String],
    /// How to look.
    pub look: &'a Look<'a>,
    /// How hard to try at most: 1 to 3. At the hardest, proofs that a part is caged in are looked for as well.
    pub levels: usize,
    /// Whether it is looked into what keeps parts in that are left over.
    pub explain: bool,
}

/// One part with its way in.
#[derive(Clone, Debug)]
pub struct PartStep {
    /// The part.
    pub part: String,
    /// Its way among what is mounted before it.
    pub way: Way,
    /// The last move on to the seat, mm, not looked at.
    pub seat_mm: Option<Vector3<f64>>,
    /// What must be known about how the question was put.
    pub remarks: Vec<String>,
    /// Parts of the kit that are mounted when it goes in.
    pub after: Vec<String>,
}

/// A part for which no way was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StuckPart {
    /// The part.
    pub part: String,
    /// Whether there was time to look into what keeps it out; where not, `alone` and `kept_by` say nothing.
    pub looked_into: bool,
    /// Whether it goes in where no other part of the kit is mounted.
    pub alone: bool,
    /// Parts of the kit each of which alone keeps it out.
    pub kept_by: Vec<String>,
    /// What stopped it most the last time, of all bodies.
    pub stopped_by: Vec<String>,
    /// Proof that it does not go in, in words.
    pub proof: Option<String>,
}

/// An order of assembly.
#[derive(Clone, Debug)]
pub struct OrderFound {
    /// Parts in the order of mounting.
    pub steps: Vec<PartStep>,
    /// Parts for which no way was found while the other stuck ones are mounted.
    pub stuck: Vec<StuckPart>,
    /// Groups of parts that block each other.
    pub interlocks: Vec<Vec<String>>,
    /// How often a part was tried.
    pub tries: usize,
    /// Whether the search was ended before it was through.
    pub cut_short: bool,
    /// Whether it was somebody who ended it, and not the time.
    pub cancelled: bool,
}

/// Finds an order in which each part goes in among those before it, by taking them out in the opposite order.
///
/// # Errors
/// A name that is no body; what the planner refuses.
pub fn find_order(ask: &OrderAsk<'_>) -> Result<OrderFound, AssemblyError> {
    let names = ask.kit;
    let bodies = names
        .iter()
        .map(|name| ask.scene.body(name).ok_or_else(|| AssemblyError::NoBody { body: name.clone() }))
        .collect::<Result<Vec<_>, _>>()?;
    let number = |name: &str| names.iter().position(|own| own == name);
    let mut refused = None;
    let mut cut_short = false;
    let mut stopped: Vec<(Vec<String>, Option<String>)> = vec![Default::default(); names.len()];
    let mut left = names.len();
    // What failed once among the same parts fails again: the search is the same.
    let mut in_vain: Vec<(usize, Vec<usize>, usize)> = Vec::new();
    let mut leaves = |part: usize, others: &[usize], level: usize| {
        let known = |one: &(usize, Vec<usize>, usize)| one.0 == part && one.1 == others && one.2 >= level;
        let asked_why = others.len() + 1 != left;
        if in_vain.iter().any(known) || (asked_why && !ask.explain) {
            return Leaves::No { by: Vec::new(), proved: false };
        }
        if refused.is_some() || ask.look.over() {
            cut_short |= refused.is_none();
            return Leaves::No { by: Vec::new(), proved: false };
        }
        let away = |at: usize| at != part && !others.contains(&at);
        let mut without: Vec<String> =
            (0..names.len()).filter(|at| away(*at)).map(|at| names[at].clone()).collect();
        without.extend(ask.without.iter().cloned());
        let checks = LEVELS[level.min(LEVELS.len() - 1)];
        let looked = match ask.look.at(ask.scene, ask.shapes, bodies[part], &without, Some(checks)) {
            Ok(looked) => looked,
            Err(error) => {
                refused = Some(error);
                return Leaves::No { by: Vec::new(), proved: false };
            }
        };
        let seen = looked.seen;
        let (by, proof) = match looked.answer {
            Answer::Way(way) => {
                left -= usize::from(!asked_why);
                return Leaves::Yes(PartStep {
                    part: names[part].clone(),
                    way,
                    seat_mm: seen.seat_mm,
                    remarks: seen.remarks,
                    after: others.iter().map(|at| names[*at].clone()).collect(),
                });
            }
            Answer::NoneFound(none) => {
                let by: Vec<usize> =
                    none.stopped_by.iter().filter(|(_, share)| *share >= 0.02).map(|(by, _)| *by).collect();
                // A proof costs about as much as a hard try: it is left until that failed.
                let starts: Vec<_> = ask.look.sides.iter().map(|side| seen.outside(*side)).collect();
                let hardest = level + 1 >= LEVELS.len() && !ask.look.over();
                let proof = looked
                    .lift_stopped
                    .or_else(|| hardest.then(|| caged(&seen, &starts)).flatten().map(|cage| cage.words()));
                (by, proof)
            }
            Answer::Impossible(why) => {
                let (Impossible::GoalNotFree { by, .. } | Impossible::StartNotFree { by, .. }) = &why;
                (vec![*by], Some(proof_words(&why, &seen.names)))
            }
        };
        let by: Vec<String> = by.into_iter().filter_map(|at| seen.names.get(at).cloned()).collect();
        let proved = proof.is_some();
        let kit: Vec<usize> = by.iter().filter_map(|name| number(name)).collect();
        if !asked_why {
            stopped[part] = (by, proof);
        }
        in_vain.push((part, others.to_vec(), level));
        Leaves::No { by: kit, proved }
    };
    let found = order(names.len(), ask.levels.clamp(1, LEVELS.len()), &mut leaves);
    if let Some(error) = refused {
        return Err(error);
    }
    // The last try may have been ended in its middle.
    let cut_short = cut_short || (!found.stuck.is_empty() && ask.look.over());
    let cancelled = cut_short && ask.look.cancelled();
    let named = |numbers: &[usize]| numbers.iter().map(|at| names[*at].clone()).collect::<Vec<_>>();
    let interlocks = found.interlocks().iter().map(|group| named(group)).collect();
    let stuck = found
        .stuck
        .iter()
        .map(|stuck| StuckPart {
            part: names[stuck.part].clone(),
            looked_into: ask.explain && !cut_short,
            alone: stuck.leaves_alone,
            kept_by: named(&stuck.kept_by),
            stopped_by: stopped[stuck.part].0.iter().take(5).cloned().collect(),
            proof: stopped[stuck.part].1.clone(),
        })
        .collect();
    let steps = found.steps.into_iter().map(|(_, step)| step).collect();
    Ok(OrderFound { steps, stuck, interlocks, tries: found.tries, cut_short, cancelled })
}

/// Why a body does not go in, where that is proved.
fn proof_words(why: &Impossible, names: &[String]) -> String {
    let name = |by: usize| names.get(by).map_or("?", String::as_str);
    match why {
        Impossible::GoalNotFree { by, gap } if gap.mm() <= 0.0 => {
            format!("where it is mounted it overlaps or touches `{}`", name(*by))
        }
        Impossible::GoalNotFree { by, gap } => {
            format!(
                "where it is mounted it is {:.2} mm from `{}`, less than is to be kept",
                gap.mm(),
                name(*by)
            )
        }
        Impossible::StartNotFree { by, .. } => format!("outside it meets `{}`", name(*by)),
    }
}
