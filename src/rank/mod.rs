//! From the levels of a candidate's needs to its class, its index, its place in the order.
//!
//! The method is land evaluation as the FAO framework lays it out (Soils Bulletin 32, 1976), with
//! the limitation levels and the parametric index of the school of Sys, Van Ranst and Debaveye
//! (Land Evaluation, 1991). In plain words:
//!
//! 1. Every *need* of a candidate (cold, light, water, wear ...) arrives with a [`Level`], 0 where
//!    the site meets it fully, 5 where it rules the candidate out. Levels are continuous, so that
//!    5.9 and 6.1 hours of sun give nearly the same answer.
//! 2. A level has a [`Rating`], 100 down to 0, by a broken line through fixed points.
//! 3. The worst need decides the [`Class`]: S1, S2, S3 or N. Nothing is averaged here, so no
//!    good point hides a refusal.
//! 4. All needs together make the *index*: the rating of the worst one times the square root of
//!    the product of the others ([`index::square_root`]), brought into the band of the class
//!    ([`index::corrected`]), so that class and index never contradict each other. Near the border
//!    of S1 and S2, or of S2 and S3, the class is printed as both and the index runs from the one
//!    band to the other ([`index::corrected_within`]).
//! 5. *Savings* (water, upkeep, green season) count in the index and never in the class.
//! 6. What is not known is not taken as met: an open need is rated at the mean over its plausible
//!    range, the classes at both ends of that range are kept, and a candidate that is open on a
//!    key need of the purpose is never better than S2; its index counts one moderate limit more for
//!    what is not known ([`need`], [`candidate`]).
//! 7. Candidates are put in order by corrected index, N last. What lies close behind the leader of
//!    its group shares the leader's rank, across a class border too ([`order`]); how close is told by
//!    samples of traits and site where those were drawn (`assess::robust`).
//!
//! Everything here is a pure function of its arguments: same needs, same answer, whatever the
//! order in which they come.
//!
//! What was read and what was not: of the framework the openings of chapter 3 (FAO X5310E) and of
//! appendix 1 in the guidelines for irrigated land (FAO X5648E); of the two papers on the corrected
//! land index the abstracts without their tables; of Sys nothing directly. Each
//! item says where its figures come from, and *from memory* where no source was at hand. The
//! sources stand in `knowledge/sources/land-evaluation.toml`; their keys are quoted like `this`.

pub mod candidate;
pub mod class;
pub mod index;
pub mod level;
pub mod need;
pub mod order;

/// Keys of the sources that the method itself rests on; no rule or value needs to cite them.
pub const SOURCES: [&str; 7] = [
    "fao-framework-1976",
    "fao-x5648e-appendix-1",
    "corrected-land-index-importance",
    "corrected-land-index-functions",
    "new-parametric-concept-2013",
    "storie-index-data-note",
    "sys-wheat-script",
];

#[cfg(test)]
mod properties;
#[cfg(test)]
mod worked_example;

pub use candidate::{RankError, Standing, stand};
pub use class::{Band, Class, ClassSpan};
pub use index::{Part, Weight};
pub use level::{Level, LevelError, LevelName, Rating};
pub use need::{NeedState, Openness};
pub use order::{Entry, Place, TIE_WITHIN, place, place_by, within};
