//! What each command does.

mod check;
mod guidance;
mod schema;
mod workings;

pub use check::check;
pub use guidance::guidance;
pub use schema::schema;
pub use workings::workings;
