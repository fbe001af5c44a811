//! The shaft: where motor, battery and propeller meet.

pub mod operating_point;
