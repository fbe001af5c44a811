//! Bad input, tried on the real command: each ends in an error of one screen that
//! says where and what, exit code 2, nothing on standard output and no new file.

mod checks;
mod fence;
mod fits;
mod harness;
mod modules;
mod outputs;
mod runs;
mod scripts;
mod setups;
