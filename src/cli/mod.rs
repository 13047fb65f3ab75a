//! The command line: arguments in, library call, report out. One file a command.
//!
//! stdout is the answer, stderr everything else. Leaves to others: every answer; this room only asks and
//! prints.

mod asker;
mod bend_list;
mod check;
mod command;
mod completions;
mod exit;
mod export;
mod film;
mod fit;
mod fitted_out;
mod flow_text;
mod interrupt;
mod jig;
mod manual;
mod motion_file;
mod new;
mod new_file;
mod order;
mod pack;
mod picture;
mod reach;
mod route;
mod said;
mod save;
mod scan;
mod scan_onto;
mod sheet;
mod template;
mod tight;
mod today;
mod try_script;
mod unpack;
mod view;
mod way_in;

pub use command::{Baywright, Command, run};
pub use exit::Exit;
