//! The built-in knowledge, as the build script put it into the program.

include!(concat!(env!("OUT_DIR"), "/embedded.rs"));
