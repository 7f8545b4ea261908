//! Labels in photos: found, bound to their stations, read by, and no disturbance to the light.

mod finding;
mod light;
mod told;
