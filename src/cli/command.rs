//! The commands there are.

use clap::{Parser, Subcommand};

use super::{
    Exit, bend_list, check, completions, export, fit, jig, manual, new, order, pack, picture, reach, route,
    said::Failure, scan, sheet, template, tight, try_script, unpack, view, way_in,
};

/// A stand-in for an engine bay that fits in a folder: measured points in, verdicts out.
#[derive(Debug, Parser)]
#[command(name = "baywright", version, max_term_width = 100, after_help = EXIT_HELP)]
pub struct Baywright {
    #[command(subcommand)]
    command: Command,
}

const EXIT_HELP: &str = "Exit codes: 0 all clear; 1 findings at or above --fail-on; 2 the input is wrong; \
3 no answer within the budget.\nStart with `baywright new my-bay`, or see a whole job in demo-scenes/.";

/// One command.
#[derive(Debug, Subcommand)]
#[allow(missing_docs)]
#[allow(clippy::large_enum_variant)] // made once a run
pub enum Command {
    New(new::Args),
    Fit(fit::Args),
    Sheet(sheet::Args),
    Scan(scan::Args),
    Jig(jig::Args),
    Check(check::Args),
    Try(try_script::Args),
    Reach(reach::Args),
    Tight(tight::Args),
    WayIn(way_in::Args),
    Order(order::Args),
    BendList(bend_list::Args),
    Route(Box<route::Args>),
    Template(template::Args),
    View(view::Args),
    Picture(picture::Args),
    Export(export::Args),
    Pack(pack::Args),
    Unpack(unpack::Args),
    Completions(completions::Args),
    Manual(manual::Args),
}

/// Runs the command that the arguments name and says how it ended.
pub fn run(arguments: Baywright) -> Exit {
    let done = match arguments.command {
        Command::New(args) => new::run(&args),
        Command::Fit(args) => fit::run(&args),
        Command::Sheet(args) => sheet::run(&args),
        Command::Scan(args) => scan::run(&args),
        Command::Jig(args) => jig::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Try(args) => try_script::run(&args),
        Command::Reach(args) => reach::run(&args),
        Command::Tight(args) => tight::run(&args),
        Command::WayIn(args) => way_in::run(&args),
        Command::Order(args) => order::run(&args),
        Command::BendList(args) => bend_list::run(&args),
        Command::Route(args) => route::run(&args),
        Command::Template(args) => template::run(&args),
        Command::View(args) => view::run(&args),
        Command::Picture(args) => picture::run(&args),
        Command::Export(args) => export::run(&args),
        Command::Pack(args) => pack::run(&args),
        Command::Unpack(args) => unpack::run(&args),
        Command::Completions(args) => completions::run(&args),
        Command::Manual(args) => manual::run(&args),
    };
    done.unwrap_or_else(|failure: Failure| failure.print())
}
