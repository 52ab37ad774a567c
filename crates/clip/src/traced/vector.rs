//! Vectors in the space before the camera: x right, y down, z along the line of sight; right-handed, metres.

/// Three components.
pub type Vector = [f64; 3];

/// `a . b`.
#[inline]
#[must_use]
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// `a + way b`.
#[inline]
#[must_use]
pub fn along(a: Vector, way: f64, b: Vector) -> Vector {
    [a[0] + way * b[0], a[1] + way * b[1], a[2] + way * b[2]]
}

/// `a x b`.
#[inline]
#[must_use]
pub fn cross(a: Vector, b: Vector) -> Vector {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// The same direction with length 1; what has no length stays as it is.
#[inline]
#[must_use]
pub fn unit(a: Vector) -> Vector {
    let length = dot(a, a).sqrt();
    if length > 0.0 { a.map(|x| x / length) } else { a }
}

/// Two directions across `axis` (of length 1) and each other, so that the three are right-handed.
#[must_use]
pub fn across(axis: Vector) -> [Vector; 2] {
    let far = if axis[2].abs() < 0.9 {
        [0.0, 0.0, 1.0]
    } else {
        [1.0, 0.0, 0.0]
    };
    let first = unit(cross(axis, far));
    [first, cross(axis, first)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_directions_stand_across_each_other() {
        for axis in [
            [0.0, 0.0, 1.0],
            [0.0, -1.0, 0.0],
            unit([0.3, -0.2, 0.9]),
            unit([1.0, 2.0, -3.0]),
        ] {
            let [e, f] = across(axis);
            let g = cross(e, f);
            assert!(dot(e, axis).abs() < 1e-15 && dot(f, axis).abs() < 1e-15 && dot(e, f).abs() < 1e-15);
            assert!((0..3).all(|i| (g[i] - axis[i]).abs() < 1e-15));
        }
    }
}
