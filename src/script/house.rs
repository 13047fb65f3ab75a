//! The scripts that ship with Baywright: imported as `house/NAME`.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{
    AST, CallFnOptions, Dynamic, EvalAltResult, FnAccess, FuncRegistration, Module, NativeCallContext, Scope,
};

use super::desk::Desk;
use super::fault::Fault;

/// A script that ships.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HouseScript {
    /// What follows `house/` in an import.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

const SCRIPTS: &[HouseScript] = &[
    HouseScript { name: "tank", text: include_str!("../../scripts/tank.rhai") },
    HouseScript { name: "turbo", text: include_str!("../../scripts/turbo.rhai") },
];

/// The scripts that ship, by name.
///
/// # Example
/// ```
/// let names: Vec<&str> = baywright::script::house_scripts().iter().map(|script| script.name).collect();
/// assert_eq!(names, ["tank", "turbo"]);
/// ```
pub fn house_scripts() -> &'static [HouseScript] {
    SCRIPTS
}

/// The prefix of their names in messages and imports.
pub(super) const PREFIX: &str = "house/";

/// House calls within house calls: they do not call each other, so more means a trick.
const DEEPEST: usize = 4;

type Answer = Result<Dynamic, Box<EvalAltResult>>;

/// A house script and the desk it works at.
struct Door {
    ast: AST,
    source: String,
    desk: Rc<RefCell<Desk>>,
}

impl Door {
    /// Calls a function of the script, remembering where the user called it.
    fn enter(&self, context: &NativeCallContext<'_>, name: &str, values: Vec<Dynamic>) -> Answer {
        let position = context.call_position();
        {
            let mut desk = self.desk.borrow_mut();
            if desk.frames.len() >= DEEPEST {
                return Err(Fault::limit("house scripts call each other without end", "call_depth", DEEPEST)
                    .into_rhai(position));
            }
            let span = desk.own_span_of(context);
            desk.frames.push(span);
        }
        let options = CallFnOptions::new().eval_ast(false).rewind_scope(true);
        let answer =
            context.engine().call_fn_with_options(options, &mut Scope::new(), &self.ast, name, values);
        self.desk.borrow_mut().frames.pop();
        answer.map_err(|error| {
            EvalAltResult::ErrorInFunctionCall(name.to_owned(), self.source.clone(), error, position).into()
        })
    }
}

macro_rules! door_arity {
    ($module:ident, $door:ident, $name:expr, $($value:ident)*) => {{
        let (door, name) = (Rc::clone(&$door), $name.to_owned());
        FuncRegistration::new($name).in_internal_namespace().set_into_module(
            &mut $module,
            move |context: NativeCallContext<'_>, $($value: Dynamic),*| -> Answer {
                door.enter(&context, &name, vec![$($value.flatten()),*])
            },
        );
    }};
}

/// Makes a module of a house script.
///
/// Each public function goes in behind a door, so that a body which it places belongs to the
/// user's line, not to the house's. A house function sees its own script's functions and ours, no
/// imports and no globals.
pub(super) fn module(desk: &Rc<RefCell<Desk>>, name: &str, ast: AST) -> Module {
    let source = format!("{PREFIX}{name}");
    let door = Rc::new(Door { ast, source: source.clone(), desk: Rc::clone(desk) });
    let mut module = Module::new();
    module.set_id(source);
    for function in door.ast.iter_functions().filter(|function| function.access == FnAccess::Public) {
        match function.params.len() {
            0 => door_arity!(module, door, function.name,),
            1 => door_arity!(module, door, function.name, a),
            2 => door_arity!(module, door, function.name, a b),
            3 => door_arity!(module, door, function.name, a b c),
            _ => door_arity!(module, door, function.name, a b c d),
        }
    }
    module.build_index();
    module
}
