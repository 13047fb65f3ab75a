//! An order of assembly in which a pipe that does not go in whole goes in as pieces.

use crate::scene::Scene;
use crate::solid::Shape;
use crate::tube::JointKind;

use super::breaks::{BreakAsk, Breaks, find_breaks};
use super::error::AssemblyError;
use super::order::{OrderAsk, OrderFound, find_order};
use super::seen::Shapes;

/// An order, and the pipes that were broken for it.
#[derive(Clone, Debug)]
pub struct BrokenOrder {
    /// The order; the pieces of a pipe are parts of their own.
    pub found: OrderFound,
    /// The scene with the pieces in their pipes' places.
    pub scene: Scene,
    /// Pipes that did not go in whole, and what was tried of each; where there is a winner, its pieces are parts of the order.
    pub broken: Vec<(String, Breaks)>,
}

/// As [`find_order`]; a pipe for which no way is found is broken, closed by `joint`, into at most `most_pieces`, where its pieces
/// go in while all that is mounted after it is away. Its pieces then take its place in the kit, and the order is found anew.
///
/// # Errors
/// As [`find_order`] and [`find_breaks`].
pub fn find_order_with_breaks(
    ask: &OrderAsk<'_>,
    joint: JointKind,
    most_pieces: usize,
) -> Result<BrokenOrder, AssemblyError> {
    let mut kit = ask.kit.to_vec();
    let mut shapes: Shapes = ask.shapes.clone();
    let mut out = BrokenOrder { found: find_order(ask)?, scene: ask.scene.clone(), broken: Vec::new() };
    while let Some((name, breaks)) = next_break(ask, &out, &shapes, joint, most_pieces)? {
        if let Some(won) = &breaks.won {
            let at = kit.iter().position(|part| *part == name).unwrap_or(kit.len());
            kit.retain(|part| *part != name);
            kit.splice(at..at, won.pieces.iter().cloned());
            shapes.add(&won.scene);
            let again = OrderAsk { scene: &won.scene, shapes: &shapes, kit: &kit, ..ask.clone() };
            let tries = out.found.tries;
            out.found = find_order(&again)?;
            out.found.tries += tries;
            out.scene = won.scene.clone();
        }
        out.broken.push((name, breaks));
    }
    Ok(out)
}

/// The next pipe that is stuck and was not tried in pieces yet.
fn next_break(
    ask: &OrderAsk<'_>,
    so_far: &BrokenOrder,
    shapes: &Shapes,
    joint: JointKind,
    most_pieces: usize,
) -> Result<Option<(String, Breaks)>, AssemblyError> {
    let stuck = so_far.found.stuck.iter().filter_map(|stuck| so_far.scene.body(&stuck.part));
    let mut pipes = stuck.filter(|body| matches!(*body.shape, Shape::Tube(_)));
    let Some(body) = pipes.find(|body| so_far.broken.iter().all(|(name, _)| *name != body.name)) else {
        return Ok(None);
    };
    if ask.look.over() {
        return Ok(None);
    }
    // What goes in after those that are stuck is away while the pieces go in.
    let mut without = ask.without.to_vec();
    without.extend(so_far.found.steps.iter().map(|step| step.part.clone()));
    let breaks = find_breaks(&BreakAsk {
        scene: &so_far.scene,
        shapes,
        body,
        without: &without,
        joint,
        most_pieces,
        look: ask.look,
    })?;
    Ok(Some((body.name.clone(), breaks)))
}
