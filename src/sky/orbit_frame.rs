//! The directions in which a place on an orbit is wrong: ahead, out of the plane and above.

use super::State;
use super::vector::{Vector, cross, dot, norm, plus, scaled};
use std::f64::consts::PI;

/// Unit vectors at one place of an orbit, in the frame of [`State`].
#[derive(Debug, Clone, Copy)]
pub(super) struct OrbitFrame {
    pub(super) radial: Vector,
    along: Vector,
    pub(super) normal: Vector,
    radius_km: f64,
}

/// How far one place is from another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Offsets {
    /// Ahead, measured on the circle, so that far ahead is not taken for far below.
    pub(super) along_km: f64,
    /// Out of the plane, towards the side from which the satellite goes round anticlockwise.
    pub(super) cross_km: f64,
    /// Above.
    pub(super) radial_km: f64,
}

impl OrbitFrame {
    pub(super) fn at(state: &State) -> Self {
        let radius_km = norm(state.position_km);
        let plane = cross(state.position_km, state.velocity_km_s);
        let radial = scaled(state.position_km, 1.0 / radius_km);
        let normal = scaled(plane, 1.0 / norm(plane));
        Self { radial, along: cross(normal, radial), normal, radius_km }
    }

    /// How far `position` is from the frame's own place.
    pub(super) fn offsets(&self, position: Vector) -> Offsets {
        let angle = dot(position, self.along).atan2(dot(position, self.radial));
        Offsets {
            along_km: self.radius_km * angle,
            cross_km: dot(position, self.normal),
            radial_km: norm(position) - self.radius_km,
        }
    }

    /// The same state so far along the orbit, half way round at most.
    pub(super) fn ahead(&self, state: &State, kilometres: f64) -> State {
        let (sin, cos) = (kilometres / self.radius_km).min(PI).sin_cos();
        let turned = |v: Vector| {
            let (up, forward) = (dot(v, self.radial), dot(v, self.along));
            plus(scaled(self.radial, up * cos - forward * sin), scaled(self.along, up * sin + forward * cos))
        };
        State { position_km: turned(state.position_km), velocity_km_s: turned(state.velocity_km_s) }
    }
}
