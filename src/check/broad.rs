//! Which pairs of bodies must be looked at, and how the rest are counted.
//!
//! Bodies that no rule and no fastening can tell apart are one class; rules are asked once for every two classes,
//! and pairs are counted by class. Only pairs whose boxes, swept over all movement, come as near as the rule asks
//! are ever made: the cost grows with those, not with the square of the bodies.

use std::collections::HashMap;

use crate::scene::{Body, RuleSide, Scene};
use crate::space::{Bounds, Length};

use super::pair::Ready;
use super::rules::{Asked, asked_of};
use super::uncertainty::COVERAGE;
use super::{CheckOptions, KeptPairs, PairCount};

/// A pair that must be examined, and what is asked of it.
pub(super) struct Question<'a> {
    pub first: usize,
    pub second: usize,
    pub asked: &'a Asked,
}

/// What becomes of the pairs of two classes.
enum Treated {
    Joined,
    Kept,
    Asked(Box<Asked>),
}

/// Classes of bodies, and what is asked of their pairs.
pub(super) struct Classes {
    /// The class of each body.
    of: Vec<usize>,
    /// Bodies in each class.
    sizes: Vec<usize>,
    /// Of two classes, the lower first: `first * classes + second`.
    treated: Vec<Treated>,
}

impl Classes {
    pub fn of(scene: &Scene, ready: &[Ready<'_>], options: &CheckOptions) -> Self {
        let named = |name: &str| {
            let says = |side: &RuleSide| matches!(side, RuleSide::Body(body) if body == name);
            scene.rules.iter().any(|rule| says(&rule.one) || says(&rule.other))
                || scene.joined.iter().any(|joined| joined.one == name || joined.other == name)
        };
        let mut numbers: HashMap<(Option<&str>, &[String], bool), usize> = HashMap::new();
        let mut classes = Classes { of: Vec::new(), sizes: Vec::new(), treated: Vec::new() };
        let mut first_of: Vec<&Body> = Vec::new();
        for body in ready.iter().map(|ready| ready.body) {
            let key = (named(&body.name).then_some(body.name.as_str()), body.roles.as_slice(), body.kept);
            let class = *numbers.entry(key).or_insert(first_of.len());
            if class == first_of.len() {
                first_of.push(body);
                classes.sizes.push(0);
            }
            classes.sizes[class] += 1;
            classes.of.push(class);
        }
        for one in &first_of {
            for other in &first_of {
                classes.treated.push(treated(scene, one, other, options));
            }
        }
        classes
    }

    fn of_pair(&self, first: usize, second: usize) -> &Treated {
        &self.treated[self.of[first] * self.sizes.len() + self.of[second]]
    }

    /// How all pairs are treated; none counted as clear yet.
    pub fn count(&self) -> PairCount {
        let mut count = PairCount::default();
        for (one, size) in self.sizes.iter().enumerate() {
            for (other, other_size) in self.sizes.iter().enumerate().skip(one) {
                let pairs = if one == other { size * (size - 1) / 2 } else { size * other_size };
                *match &self.treated[one * self.sizes.len() + other] {
                    Treated::Joined => &mut count.joined,
                    Treated::Kept => &mut count.kept,
                    Treated::Asked(asked) if asked.named => &mut count.by_rule,
                    Treated::Asked(_) => &mut count.by_default,
                } += pairs;
            }
        }
        count
    }

    /// The pairs that are not told apart by their boxes, in the order of the scene.
    pub fn near<'a>(&'a self, ready: &[Ready<'_>]) -> Vec<Question<'a>> {
        // The least gap asked of any pair: each body's box is widened by half of it and by its own uncertainty.
        let most = self.treated.iter().fold(Length::ZERO, |most, treated| match treated {
            Treated::Asked(asked) => most.max(asked.least),
            _ => most,
        });
        let boxes: Vec<Bounds> = ready
            .iter()
            .map(|ready| ready.swept.grown(most.mm() / 2.0 + COVERAGE * ready.worst_standard_mm))
            .collect();
        // Swept along the axis on which the bay is longest, so that few boxes are open at a time.
        let along = boxes.iter().fold(Bounds::EMPTY, |all, held| all.union(held)).size().imax();
        let mut order: Vec<usize> = (0..boxes.len()).collect();
        order.sort_by(|p, q| boxes[*p].min[along].total_cmp(&boxes[*q].min[along]).then(p.cmp(q)));
        let mut open: Vec<usize> = Vec::new();
        let mut questions = Vec::new();
        for at in order {
            open.retain(|other| boxes[*other].max[along] >= boxes[at].min[along]);
            for other in &open {
                let (first, second) = (at.min(*other), at.max(*other));
                if boxes[at].gap_mm(&boxes[*other]) <= 0.0
                    && let Treated::Asked(asked) = self.of_pair(first, second)
                    && !ready[first].told_apart(&ready[second], asked.least)
                {
                    questions.push(Question { first, second, asked });
                }
            }
            open.push(at);
        }
        questions.sort_by_key(|question| (question.first, question.second));
        questions
    }
}

fn treated(scene: &Scene, one: &Body, other: &Body, options: &CheckOptions) -> Treated {
    let joined = scene.joined.iter().any(|joined| {
        (joined.one == one.name && joined.other == other.name)
            || (joined.one == other.name && joined.other == one.name)
    });
    if joined {
        Treated::Joined
    } else if one.kept && other.kept && options.kept_pairs == KeptPairs::AsFound {
        Treated::Kept
    } else {
        Treated::Asked(Box::new(asked_of(scene, one, other)))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used)]
mod tests {
    use std::path::Path;

    use super::super::Poses;
    use super::super::pair::ShapeStore;
    use super::*;

    fn scene() -> Scene {
        let mut bodies = String::new();
        for at in 0..40 {
            let place = [at * 7919 % 211, at * 104_729 % 223, at * 1_299_709 % 97];
            let role = ["hot", "hose", "[hot, round]", "round"][at % 4];
            bodies += &format!(
                "  b{at}: {{shape: {{box: [30, 20, 10]}}, at: {place:?}, role: {role}, kept: {}, sigma: {}}}\n",
                at % 3 == 0,
                at % 5
            );
        }
        let text = format!(
            "baywright: 1
roles: {{hot: test, hose: test, round: test}}
bodies:
{bodies}joined:
  - {{bodies: [b1, b2], by: bolts}}
  - {{bodies: [b3, b6], by: bolts}}
rules:
  - {{between: [hot, hose], least: 30, because: test}}
  - {{between: [b5, any], least: 4, because: test}}
"
        );
        Scene::load_text(Path::new("bay.yaml"), &text).expect("a good scene")
    }

    #[test]
    fn classes_count_and_find_what_looking_at_every_pair_does() {
        let scene = scene();
        let mut store = ShapeStore::default();
        let ready: Vec<Ready<'_>> =
            scene.bodies.iter().map(|body| Ready::new(&scene, body, &mut store, Poses::Movement)).collect();
        for kept_pairs in [KeptPairs::AsFound, KeptPairs::Examined] {
            let options = CheckOptions { kept_pairs, ..CheckOptions::default() };
            let classes = Classes::of(&scene, &ready, &options);
            let (mut count, mut near) = (PairCount::default(), Vec::new());
            for first in 0..ready.len() {
                for second in first + 1..ready.len() {
                    match treated(&scene, ready[first].body, ready[second].body, &options) {
                        Treated::Joined => count.joined += 1,
                        Treated::Kept => count.kept += 1,
                        Treated::Asked(asked) => {
                            *if asked.named { &mut count.by_rule } else { &mut count.by_default } += 1;
                            if !ready[first].told_apart(&ready[second], asked.least) {
                                near.push((first, second, asked.least.mm()));
                            }
                        }
                    }
                }
            }
            assert!(count.joined == 2 && count.by_rule > 20 && near.len() > 20, "{count:?}, {}", near.len());
            assert_eq!(classes.count(), count);
            let found: Vec<_> =
                classes.near(&ready).iter().map(|q| (q.first, q.second, q.asked.least.mm())).collect();
            assert_eq!(found, near);
        }
    }
}
