//! Necks of a surface: where its distance from the axis is least between two wider parts.
//!
//! Source: definitions.

use crate::potential::boundary::body::Surface;

/// A neck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neck {
    /// Node.
    pub node: usize,
    /// Radius, m.
    pub radius: f64,
}

/// The thinnest neck of a surface, if it has one; a node at a plane counts where the surface widens from it.
#[must_use]
pub fn thinnest(surface: &Surface) -> Option<Neck> {
    let r = &surface.r;
    let last = r.len() - 1;
    let is_neck = |i: usize| {
        let left = if i == 0 { r[1] } else { r[i - 1] };
        let right = if i == last { r[last - 1] } else { r[i + 1] };
        r[i] > 0.0 && r[i] <= left && r[i] < right
    };
    let necks = (0..=last).filter(|i| is_neck(*i));
    let neck = necks.min_by(|a, b| r[*a].total_cmp(&r[*b]))?;
    Some(Neck {
        node: neck,
        radius: r[neck],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::potential::boundary::curve::End;

    fn surface(r: &[f64], ends: [End; 2]) -> Surface {
        Surface {
            ends,
            r: r.to_vec(),
            z: (0..r.len()).map(|i| -(i as f64)).collect(),
            phi: vec![0.0; r.len()],
            layers: Vec::new(),
        }
    }

    #[test]
    fn the_thinnest_of_two_is_found_and_a_ball_has_none() {
        let two = surface(&[0.0, 1.0, 0.5, 0.9, 0.3, 0.8, 0.0], [End::Axis; 2]);
        assert_eq!(thinnest(&two), Some(Neck { node: 4, radius: 0.3 }));
        assert_eq!(
            thinnest(&surface(&[0.0, 0.7, 1.0, 0.7, 0.0], [End::Axis; 2])),
            None
        );
        let half = surface(&[0.2, 0.5, 1.0, 0.7, 0.0], [End::Plane, End::Axis]);
        assert_eq!(thinnest(&half).map(|neck| neck.node), Some(0));
    }
}
