//! One test binary over the program and the library as others see them.

// a test may stop where something is not as it must be
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod authoring;
mod bad_inputs;
mod cases;
mod climate;
mod climate_of_site;
mod command_line;
mod compare;
mod daily_weather;
mod hostile;
mod interview;
mod knowledge_base;
mod knowledge_diff;
mod knowledge_show;
mod knowledge_stamp;
mod knowledge_table;
mod monotone;
mod month_table;
mod overlay_marks;
mod overlays;
mod property;
mod rankings;
mod reasons;
mod robustness;
mod scenarios;
mod staff_path;
mod support;
mod trade_checks;
mod unknown;
