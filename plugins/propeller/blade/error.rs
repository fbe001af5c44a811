//! What can be wrong with a blade or a cut.

use std::fmt;

/// Why stations make no blade, or a cut leaves none.
#[derive(Debug, Clone, PartialEq)]
pub enum BladeError {
    /// Not enough of either.
    TooFew {
        /// Stations found.
        stations: usize,
        /// Blades found.
        blades: u32,
    },
    /// A number that is none.
    NotFinite {
        /// Counted from 1.
        station: usize,
    },
    /// A radius at or below nil.
    Radius {
        /// Counted from 1.
        station: usize,
        /// The radius, m.
        r: f64,
    },
    /// Edges that cross.
    Chord {
        /// Radius, m.
        r: f64,
        /// Chord, m.
        chord: f64,
    },
    /// A pitch at or below nil.
    Pitch {
        /// Radius, m.
        r: f64,
        /// Pitch, m.
        pitch: f64,
    },
    /// Radii that do not rise.
    Unsorted {
        /// Radius before, m.
        before: f64,
        /// Radius, m.
        r: f64,
    },
    /// A cut that is no cut.
    NoCut {
        /// What was asked for, m.
        removed: f64,
    },
    /// A cut that leaves less than a third of the blade's length.
    NothingLeft {
        /// What was asked for, m.
        removed: f64,
        /// Radius of the hub, m.
        hub: f64,
        /// Radius of the tip that is left, m.
        left: f64,
    },
}

impl fmt::Display for BladeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew { stations, blades } => write!(
                f,
                "has {stations} stations and {blades} blades; two stations and one blade make the least"
            ),
            Self::NotFinite { station } => {
                write!(f, "holds something at station {station} that is not a finite number")
            }
            Self::Radius { station, r } => {
                write!(f, "has its station {station} at r = {r} m; radii are positive")
            }
            Self::Chord { r, chord } => write!(
                f,
                "has at r = {r} m a chord of {chord} m; it must be positive (the leading edge counts ahead of the \
                 blade's line, the trailing edge behind it)"
            ),
            Self::Pitch { r, pitch } => {
                write!(f, "has at r = {r} m a pitch of {pitch} m; it must be positive")
            }
            Self::Unsorted { before, r } => {
                write!(
                    f,
                    "has a station at r = {r} m that does not rise above the one before it, r = {before} m"
                )
            }
            Self::NoCut { removed } => write!(f, "of {removed} m is none; it must not be negative"),
            Self::NothingLeft { removed, hub, left } => write!(
                f,
                "of {removed} m leaves a blade that reaches from r = {hub} m to {left} m, less than a third of \
                 what there was"
            ),
        }
    }
}

impl std::error::Error for BladeError {}
