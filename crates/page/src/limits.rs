//! What a child process may use: memory and processor time, set by the child on itself before it opens anything.

/// Limits of a child.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of address space.
    pub memory: u64,
    /// Seconds of processor time.
    pub time: u64,
}

/// For looking at frames: a window of frames, a decoder, a thread or two.
pub const LOOKING: Limits = Limits {
    memory: 3 << 30,
    time: 24 * 3600,
};
/// For measuring and simulating: every thread reserves address space that it does not use.
pub const WORKING: Limits = Limits {
    memory: 24 << 30,
    time: 7 * 24 * 3600,
};

impl Limits {
    /// Sets them on this process; a system that knows no limits leaves them out.
    pub fn set(self) {
        #[cfg(unix)]
        for (resource, most) in [
            (rlimit::Resource::AS, self.memory),
            (rlimit::Resource::CPU, self.time),
            (rlimit::Resource::CORE, 0),
        ] {
            let hard = rlimit::getrlimit(resource).map_or(rlimit::INFINITY, |(_, hard)| hard);
            // A stricter limit of the system stands.
            let _ = rlimit::setrlimit(resource, most.min(hard), most.min(hard));
        }
    }
}
