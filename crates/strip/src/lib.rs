//! Blanks on a coil's strip: outlines, layouts that waste least, and the proof
//! that they fit.
//!
//! Numbers in, numbers with a bound out; nothing here knows what a part is for,
//! touches a file or a screen.
//!
//! - [`Outline`]: a blank of straight and round edges with holes, found sound.
//!   [`read`] takes it out of DXF drawings and SVG paths.
//! - [`lay`]: the layouts of a [`Request`], each with its independent measurement
//!   and the utilisation that no layout of its kind can beat.
//! - [`draw`]: a layout as SVG and DXF.
//! - [`question`]: the same as one JSON question and its answer.
//!
//! *Never:* a coil, a price, a file, a clock on the wall.

mod across;
mod angles;
mod border;
pub mod draw;
mod forbidden;
mod lay;
mod layout;
mod outline;
mod piece;
mod pitch;
mod point;
pub mod question;
pub mod read;
mod search;
mod skyline;
mod verify;

pub use lay::lay;
pub use layout::{
    Cut, Kind, Layout, NoLayout, Outcome, Partner, Placement, Progress, Refusal, Request, Watch,
    Window,
};
pub use outline::{Fault, Outline, Vertex, Wrong};
pub use point::{Extent, Point};
