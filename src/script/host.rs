//! The interpreter: what of the language a script gets, and its bounds.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage,
    BasicMathPackage, BasicStringPackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{Dynamic, Engine, EvalAltResult, FLOAT, INT, Module, OptimizationLevel, Position};

use crate::space::Direction;

use super::book;
use super::desk::Desk;
use super::import::Resolver;
use super::values::{Heading, SceneView};

/// Names that every script finds: the scene and the six directions.
pub(super) fn constants() -> Vec<(&'static str, Dynamic)> {
    let mut names = vec![("scene", Dynamic::from(SceneView))];
    for direction in Direction::ALL {
        names.push((direction.word(), Dynamic::from(Heading { unit: direction.unit() })));
    }
    names
}

/// Builds the interpreter for one run.
pub(super) fn engine(desk: &Rc<RefCell<Desk>>) -> Engine {
    // Raw: no file imports, and of the language's own functions only those listed here. Left out
    // are the ones that wait, end the process's turn or look at bits and bytes.
    let mut engine = Engine::new_raw();
    for package in [
        ArithmeticPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
        MoreStringPackage::new().as_shared_module(),
        BasicIteratorPackage::new().as_shared_module(),
        BasicFnPackage::new().as_shared_module(),
        BasicMathPackage::new().as_shared_module(),
        BasicArrayPackage::new().as_shared_module(),
        BasicMapPackage::new().as_shared_module(),
    ] {
        engine.register_global_module(package);
    }
    engine.disable_symbol("eval");
    // As written, so that positions are those of the text.
    engine.set_optimization_level(OptimizationLevel::None);
    engine.set_fail_on_invalid_map_property(true);
    // Without the short cut, `/` can be ours.
    engine.set_fast_operators(false);
    bound(&mut engine, desk);
    arithmetic(&mut engine);
    book::register(&mut engine, desk);
    super::api::register_operators(&mut engine, desk);
    let mut names = Module::new();
    for (name, value) in constants() {
        names.set_var(name, value);
    }
    engine.register_global_module(names.into());
    engine.set_module_resolver(Resolver::new(desk));
    listen(&mut engine, desk);
    engine
}

fn bound(engine: &mut Engine, desk: &Rc<RefCell<Desk>>) {
    let options = desk.borrow().options.clone();
    engine
        .set_max_call_levels(options.call_depth)
        .set_max_expr_depths(options.expression_depth, options.expression_depth)
        .set_max_variables(options.variables)
        .set_max_functions(options.functions)
        .set_max_string_size(options.text_bytes)
        .set_max_array_size(options.list_entries)
        .set_max_map_size(options.map_entries)
        // The resolver counts different scripts; this bounds the statements.
        .set_max_modules(options.imports.saturating_mul(64).max(64))
        .set_max_strings_interned(1024);
    weigh(engine);
    let counter = Rc::clone(desk);
    engine.on_progress(move |_| counter.borrow_mut().step().map(Dynamic::from));
}

/// Weighs a variable whenever it is touched.
///
/// The interpreter weighs what an expression gives and what a method leaves behind, but after
/// `map[key] = value` only the value: a map or a list of lists could grow by one entry a step
/// without end. Weighed here, it can outgrow its limit by one entry and then stops the script.
fn weigh(engine: &mut Engine) {
    #[allow(deprecated, reason = "marked so by its authors to say that it may change, not that it will go")]
    engine.on_var(|name, _, context| {
        for value in context.scope().get(name).into_iter().chain(context.this_ptr()) {
            if value.is_array() || value.is_map() || value.is_shared() {
                context.engine().ensure_data_size_within_limits(value)?;
            }
        }
        Ok(None)
    });
}

/// `5 / 2` is 2.5: these are lengths. A quotient that comes out even stays whole, so that it can
/// still count and index.
fn arithmetic(engine: &mut Engine) {
    fn quotient(above: INT, below: INT) -> Result<Dynamic, Box<EvalAltResult>> {
        if below == 0 {
            return Err(EvalAltResult::ErrorArithmetic("division by zero".to_owned(), Position::NONE).into());
        }
        Ok(match above.checked_rem(below) {
            Some(0) => Dynamic::from_int(above / below),
            _ => Dynamic::from_float(above as FLOAT / below as FLOAT),
        })
    }
    engine.register_fn("/", quotient);
    engine.register_fn("/=", |above: &mut Dynamic, below: INT| -> Result<(), Box<EvalAltResult>> {
        *above = match (above.as_int(), above.as_float()) {
            (Ok(whole), _) => quotient(whole, below)?,
            (_, Ok(number)) => Dynamic::from_float(number / below as FLOAT),
            _ => return Err("only numbers can be divided".into()),
        };
        Ok(())
    });
}

fn listen(engine: &mut Engine, desk: &Rc<RefCell<Desk>>) {
    let paper = Rc::clone(desk);
    engine.on_print(move |line| paper.borrow_mut().print(line.to_owned()));
    let paper = Rc::clone(desk);
    engine.on_debug(move |line, source, position| {
        let mut desk = paper.borrow_mut();
        let source = source.unwrap_or(&desk.script).to_owned();
        desk.print(format!("{source}:{}: {line}", position.line().unwrap_or(0)));
    });
}
