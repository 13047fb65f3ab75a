//! Which room rule governs a pair of bodies.

use crate::scene::{Body, RoomRule, RuleSide, Scene};
use crate::space::Length;

/// What is asked of a pair.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    pub least: Length,
    pub rule: String,
    pub because: String,
    /// Whether a rule of the scene names the pair, or only the built-in one holds.
    pub named: bool,
}

/// How exactly a side names a body: by name, by role, or as any; `None` when it does not.
fn rank(side: &RuleSide, body: &Body) -> Option<u8> {
    match side {
        RuleSide::Body(name) => (*name == body.name).then_some(2),
        RuleSide::Role(role) => body.roles.contains(role).then_some(1),
        RuleSide::Any => Some(0),
    }
}

fn rank_of_rule(rule: &RoomRule, one: &Body, other: &Body) -> Option<(u8, u8)> {
    let way = |a: &Body, b: &Body| {
        let (first, second) = (rank(&rule.one, a)?, rank(&rule.other, b)?);
        Some((first.max(second), first.min(second)))
    };
    way(one, other).max(way(other, one))
}

/// Whether two rules are about the same two sides, in either order.
fn same_sides(one: &RoomRule, other: &RoomRule) -> bool {
    (one.one == other.one && one.other == other.other) || (one.one == other.other && one.other == other.one)
}

/// The rule for a pair: the one that names it most exactly (a body's name before a role before `any`);
/// among equals of role rank the greatest least gap wins, since a body with two roles must satisfy both;
/// among equals by name the later in the document wins. A rule with the same two sides as a later one is
/// replaced by it. Without any, bodies still may not overlap.
pub(super) fn asked_of(scene: &Scene, one: &Body, other: &Body) -> Asked {
    let mut best: Option<((u8, u8), &RoomRule)> = None;
    for (at, rule) in scene.rules.iter().enumerate() {
        let Some(rank) = rank_of_rule(rule, one, other) else { continue };
        if scene.rules[at + 1..].iter().any(|later| same_sides(rule, later)) {
            continue;
        }
        let wins = match best {
            None => true,
            Some((best_rank, best_rule)) => {
                rank > best_rank || (rank == best_rank && (rank.0 == 2 || rule.least >= best_rule.least))
            }
        };
        if wins {
            best = Some((rank, rule));
        }
    }
    match best {
        Some((_, rule)) => Asked {
            least: rule.least,
            rule: format!("{} from {}", side_word(&rule.one), side_word(&rule.other)),
            because: rule.because.clone(),
            named: true,
        },
        None => Asked {
            least: Length::ZERO,
            rule: "no two bodies may meet".to_owned(),
            because: "built in: holds where no room rule names the pair".to_owned(),
            named: false,
        },
    }
}

fn side_word(side: &RuleSide) -> &str {
    match side {
        RuleSide::Body(name) | RuleSide::Role(name) => name,
        RuleSide::Any => "any body",
    }
}
