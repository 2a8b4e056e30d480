//! The few sums with three-component vectors that the room needs.

pub(super) type Vector = [f64; 3];

pub(super) fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(super) fn norm(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

pub(super) fn minus(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// The angle between two vectors, radians, 0 to pi; exact for small angles too.
pub(super) fn angle_between(a: Vector, b: Vector) -> f64 {
    let cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    norm(cross).atan2(dot(a, b))
}
