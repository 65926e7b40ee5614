//! One test binary over the program and the library as others see them.

mod bad_inputs;
mod cases;
mod climate;
mod command_line;
mod hostile;
mod knowledge_base;
mod scenarios;
mod support;
