//! How each number was found, in words and formulas, for the report. Says what the rooms below do; computes nothing.

use tremolet_report::input::{Method, Symbol};

/// The methods behind findings of a ringing drop; only the first when nothing was inferred, and one more when a log was held against the clip.
pub fn methods(inferred: bool, logged: bool) -> Vec<Method> {
    let mut all = vec![outline()];
    if inferred {
        all.extend([ringdown(), property(), uncertainty()]);
    }
    if logged {
        all.insert(1, beside());
    }
    all
}

/// The methods behind findings of a simulated run.
pub fn simulated(by_surface: bool, inferred: bool) -> Vec<Method> {
    let mut all = vec![if by_surface { surface_flow() } else { flow() }];
    if inferred {
        all.extend([ringdown(), property(), uncertainty()]);
    }
    all
}

/// The method behind fitted values.
pub fn fitted() -> Method {
    Method {
        name: "Simulation fitted to the outlines".into(),
        text: vec![
            "A drop of the stated liquid in its gas is let go and its flow computed, at any amplitude; the silhouettes that a camera far away sees of it are laid on the \
             measured outlines. Surface tension, viscosity, size, axis with its tilt out of the picture, and shape and speed of shape of degrees 2 to 8, or to 12 where they explain more, at the first \
             free frame are adjusted until the weighted squares of the distances are least. The place of the body in each frame is left open."
                .into(),
            "Uncertainties follow from the same squares, enlarged where more is left than the outlines' own uncertainty leads one to expect; scale, density and what the theory of the thin layer under a surface that swings far leaves open are added. \
             What the motion lacks, such as rotation, a draught or a body that is not one of revolution, is not in them: the map of what is left shows it."
                .into(),
        ],
        formulas: vec![
            "sigma = rho R^3 / t_0^2".into(),
            "nu = Oh R^2 / t_0".into(),
            "p_n = -rho R^2 v_n / (n t_0)".into(),
        ],
        symbols: vec![
            Symbol::new("t_0", "capillary time of the fitted motion", "s"),
            Symbol::new("Oh", "Ohnesorge number of the fitted motion", "1"),
            Symbol::new("v_n", "rate of the amplitude of degree n at the first frame, over t_0", "1"),
            Symbol::new("p_n", "pressure impulse over the surface", "Pa s"),
        ],
        sources: vec![
            "Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973) 413: unknowns of each frame taken out of least squares".into(),
            "Lamb, Hydrodynamics (1932), art. 11: motion set going by an impulse".into(),
        ],
    }
}

fn flow() -> Method {
    Method {
        name: "Flow of a free drop".into(),
        text: vec![
            "The drop is one of revolution whose surface a ray from its centre of mass crosses once. Its flow is a velocity potential, a sum of \
             harmonics; surface and flow obey the kinematic and the dynamic condition at any amplitude, projected on Legendre polynomials. Volume, centre of mass and momentum are \
             kept exactly; the energy is watched."
                .into(),
            "Viscosity is weak: the normal stress of the potential flow, the pressure of the layer that takes its tangential stress away, and what that layer \
             and the one in the gas remember. Damping and frequency of small swings agree with exact roots to some 0.3 % up to Oh = 0.01; beyond some 0.03 the method \
             does not hold. Amplitudes carry the error of the steps as their uncertainty."
                .into(),
        ],
        formulas: vec![
            "r(t)^3 / 3 = sum e_n P_n,  u = grad sum b_n r^n P_n".into(),
            "b_t + |u|^2 / 2 + p / rho + (sigma / rho) 2 H = 0".into(),
        ],
        symbols: vec![
            Symbol::new("r", "radius of the surface", "m"),
            Symbol::new("H", "mean curvature", "1/m"),
            Symbol::new("p", "pressure from outside and from viscosity", "Pa"),
        ],
        sources: vec![
            "Lamb, Hydrodynamics (1932), art. 275".into(),
            "Lundgren and Mansour, J. Fluid Mech. 194 (1988) 479: weak viscosity".into(),
            "Prosperetti, J. Mecanique 19 (1980) 149: what the layer remembers".into(),
        ],
    }
}

fn surface_flow() -> Method {
    Method {
        name: "Flow of bodies of revolution by their surfaces".into(),
        text: vec![
            "The flow is a velocity potential that is known from its values on the surfaces: the normal velocity follows from the potential by an integral equation \
             over rings about the axis, the potential changes by the pressures on the surface. Surfaces are smooth splines whose points crowd where they bend \
             and where they are near each other."
                .into(),
            "A neck thinner than the stated length is cut, poles nearer than that are joined; both keep volume and momentum. What happens inside a neck thinner than the cut is \
             not followed. The gas around takes part by its inertia where there is one body without bubbles that stays one; the gas in a bubble keeps its volume. Viscosity is weak: normal stress of the \
             potential flow and the pressure of the layer under the surface with what it remembers; beyond an Ohnesorge number of some 0.03 the method does not hold."
                .into(),
        ],
        formulas: vec![
            "phi(x) / 2 = int [ G d_n phi - phi d_n G ] dS".into(),
            "d phi / dt = |u|^2 / 2 - p / rho - (sigma / rho) 2 H".into(),
        ],
        symbols: vec![
            Symbol::new("phi", "velocity potential, u = grad phi", "m^2/s"),
            Symbol::new("G", "potential of a source, 1 / (4 pi distance)", "1/m"),
            Symbol::new("H", "mean curvature", "1/m"),
            Symbol::new("p", "pressure from outside and from viscosity", "Pa"),
        ],
        sources: vec![
            "Lamb, Hydrodynamics (1932), articles 57 and 58: potentials by what is on the surface".into(),
            "Lundgren and Mansour, J. Fluid Mech. 194 (1988) 479: drops by their surfaces, weak viscosity".into(),
        ],
    }
}

fn beside() -> Method {
    Method {
        name: "Clip and accelerometer".into(),
        text: vec![
            "What the accelerometer recorded, integrated twice, is laid beside the path of the centre. Place, speed and an even acceleration are left \
             open, so that only changes of the acceleration tell how the two clocks lie to each other; what was stated of their offset counts as \
             known before. Noise of the path and of the record, which grows when it is integrated, are weighed as the data show them."
                .into(),
            "At that offset two things are compared: how much of the changes of the record the clip shows, which is 1 when they agree, and the \
             mean accelerations, taken from the integrated record as from the path. An accelerometer reads the acceleration of its case against \
             free fall, a free body goes the other way."
                .into(),
        ],
        formulas: vec!["x(t) = c_0 + c_1 t + c_2 t^2 + g D(t - o)".into()],
        symbols: vec![
            Symbol::new("x", "place of the centre in one direction", "m"),
            Symbol::new("D", "record integrated twice", "m"),
            Symbol::new("o", "offset of the clocks", "s"),
            Symbol::new("g", "share of the changes that the clip shows", "1"),
        ],
        sources: vec!["Harville, J. Amer. Statist. Assoc. 72 (1977) 320: likelihood of what a fit leaves".into()],
    }
}

fn outline() -> Method {
    Method {
        name: "Outline, size and shape".into(),
        text: vec![
            "In every frame the edge is looked for along lines across the rim. A blurred step is fitted to the grey levels \
             on each line, which places the edge to a fraction of a pixel with an uncertainty from the noise of the \
             picture; the inward shift that blur gives a curved edge is taken back. Where something crosses or touches \
             the rim, that arc is left out."
                .into(),
            "Before clutter the edge of a bright body rests on a model of its dark rim, one for the whole clip, fitted over \
             the first frames with the body. What that model leaves open, judged by how arcs of the outline disagree about \
             it, is in the budget as the edge of light against the edge of liquid."
                .into(),
            "A stated readout time, lens, roll or lamp is taken out of the outlines: all points of a frame are brought to one instant and to the \
             place where a perfect, level camera would show them. Where marks fixed to the scene are seen to move, so is the motion of the camera; \
             without such marks the path of a body contains it."
                .into(),
            "Where the distance of the lens is known, size and amplitudes are those of the body and not of its outline: from near by, \
             a body looks too large and its higher degrees too small."
                .into(),
            "A Legendre series about the axis is fitted to the points. The volume is that of the body of revolution, so \
             it is right only while the axis lies in the picture."
                .into(),
        ],
        formulas: vec!["r(theta) = R [1 + sum a_n P_n(cos theta)]".into(), "V = 4/3 pi R^3".into()],
        symbols: vec![
            Symbol::new("r", "distance of the outline from the centre", "m"),
            Symbol::new("theta", "angle from the axis", "rad"),
            Symbol::new("R", "volume-equivalent radius", "m"),
            Symbol::new("a_n", "amplitude of degree n", "1"),
            Symbol::new("P_n", "Legendre polynomial", "1"),
        ],
        sources: vec!["Rayleigh, Proc. R. Soc. 29 (1879) 71: expansion of a nearly spherical drop".into()],
    }
}

fn ringdown() -> Method {
    Method {
        name: "Frequencies and decay rates".into(),
        text: vec![
            "Each amplitude is searched for damped lines. A line counts only when noise would give one as strong in at \
             most one clip of a thousand; a line that belongs to another degree, or to twice a frequency, is modelled but \
             is no mode. All lines of a degree are then fitted together by weighted least squares on the real times."
                .into(),
            "Large swings are slower. The shift grows with the square of the amplitude; theory gives its size as a \
             starting belief and the data correct it, so that the frequency is that of small swings. The uncertainty \
             follows what the residuals show near each line, never less than the stated noise."
                .into(),
            "A clip that was coded with loss may hold outlines back in step with the motion, which residuals do not show. Where key \
             pictures, which have no lag, show one, it is taken out. Frequency and decay rate of each mode then carry what is left of \
             it, or, without such pictures, what a lag as large as the scatter of the outline's points would do."
                .into(),
        ],
        formulas: vec![
            "a_n(t) = A exp(-gamma t) cos phi(t) + slow drift".into(),
            "d phi/dt = omega [1 + kappa A^2 exp(-2 gamma t)]".into(),
        ],
        symbols: vec![
            Symbol::new("A", "amplitude at the start", "1"),
            Symbol::new("gamma", "decay rate", "1/s"),
            Symbol::new("omega", "angular frequency of small swings", "rad/s"),
            Symbol::new("kappa", "slowing by amplitude", "1"),
        ],
        sources: vec!["Tsamopoulos and Brown, J. Fluid Mech. 127 (1983) 519: drops slow down at large swings".into()],
    }
}

fn property() -> Method {
    Method {
        name: "Surface tension and viscosity".into(),
        text: vec![
            "Surface tension and viscosity are those for which the exact viscous modes of a drop in its gas have the \
             frequencies and decay rates that were found, all modes together, weighted by their joint covariance. The \
             first formula is the inviscid limit, which shows how size enters; the exact roots are used."
                .into(),
            "With a scale the radius comes from the outline; with a mass it comes from mass and density. Where both are \
             known the two results are joined by generalised least squares with what they share, unless they differ by \
             more than twice the uncertainty of their difference."
                .into(),
            "If the modes do not agree on one viscosity, their damping is reported and no viscosity: a surface film does \
             that."
            .into(),
        ],
        formulas: vec![
            "omega_n^2 = n (n-1) (n+2) sigma / (rho R^3)".into(),
            "gamma_n ~= (n-1) (2n+1) nu / R^2".into(),
            "sigma = 3 pi m f_2^2 / 8".into(),
        ],
        symbols: vec![
            Symbol::new("sigma", "surface tension", "N/m"),
            Symbol::new("nu", "kinematic viscosity", "m^2/s"),
            Symbol::new("rho", "density of the liquid", "kg/m^3"),
            Symbol::new("m", "mass", "kg"),
            Symbol::new("f_2", "frequency of degree 2", "Hz"),
        ],
        sources: vec![
            "Lamb, Hydrodynamics, 6th ed. (1932), articles 275 and 355: the limits".into(),
            "Miller and Scriven, J. Fluid Mech. 32 (1968) 417: exact modes of a drop in a viscous host".into(),
        ],
    }
}

fn uncertainty() -> Method {
    Method {
        name: "Uncertainty".into(),
        text: vec![
            "Every value keeps the inputs that its uncertainty comes from, so what two values share stays correlated. The \
             standard uncertainty is the root of the sum of squares of the parts; the 95 % interval uses Student's \
             distribution with effective degrees of freedom by Welch and Satterthwaite."
                .into(),
            "The full model is then tried with all inputs drawn at random, in blocks of ten thousand trials with a fixed seed. Where an end of \
             the interval of the trials differs from the linear one by more than a twentieth of the standard uncertainty, the interval \
             of the trials is given, which need not be symmetric; standard uncertainty and budget stay those of the parts."
                .into(),
        ],
        formulas: vec!["u^2(y) = sum (c_i u_i)^2".into()],
        symbols: vec![
            Symbol::new("c_i", "sensitivity to input i", ""),
            Symbol::new("u_i", "standard uncertainty of input i", ""),
        ],
        sources: vec![
            "JCGM 100:2008, Guide to the expression of uncertainty in measurement".into(),
            "JCGM 101:2008, Propagation of distributions using a Monte Carlo method, section 8".into(),
        ],
    }
}
