//! What the program does with clips and disks that are not as they should be: one message, an exit code, nothing lost.

mod bad_clip;
#[cfg(target_os = "linux")]
mod disk;
mod made;
