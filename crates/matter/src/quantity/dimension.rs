//! What a quantity is of: length, pressure, ... and the powers of the base units that go with it.
//!
//! A dimension is a name and a row of exponents; two names may share a row (a rate and a frequency do not
//! differ, a fraction and a count neither). Pixels and radians are kept apart from plain numbers, so that
//! `mm/px` is not a length and an angle is not a fraction. Source: \[SIBrochure9\] tables 2 and 4
//! (table numbers from memory).
//! Does not know units; see [`crate::quantity::unit`].

/// Exponents of metre, kilogram, second, kelvin, mole, pixel, radian, in this order.
pub type Exponents = [i8; 7];

/// The dimensions that files and the command line use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say what they are")]
pub enum Dimension {
    Length,
    Area,
    Volume,
    Mass,
    Time,
    Rate,
    Speed,
    Acceleration,
    Force,
    Impulse,
    Energy,
    Pressure,
    Temperature,
    TemperatureDifference,
    Density,
    SurfaceTension,
    DynamicViscosity,
    KinematicViscosity,
    Amount,
    Angle,
    AngularRate,
    Fraction,
    Pixel,
    LengthPerPixel,
}

impl Dimension {
    /// Name, exponents and a correct example.
    fn row(self) -> (&'static str, Exponents, &'static str) {
        use Dimension as D;
        match self {
            D::Length => ("length", [1, 0, 0, 0, 0, 0, 0], "24 +- 0.5 mm"),
            D::Area => ("area", [2, 0, 0, 0, 0, 0, 0], "4.5 cm^2"),
            D::Volume => ("volume", [3, 0, 0, 0, 0, 0, 0], "7.2 +- 0.1 mL"),
            D::Mass => ("mass", [0, 1, 0, 0, 0, 0, 0], "13.2 +- 0.1 g"),
            D::Time => ("time", [0, 0, 1, 0, 0, 0, 0], "8 ms"),
            D::Rate => ("rate", [0, 0, -1, 0, 0, 0, 0], "480 fps"),
            D::Speed => ("speed", [1, 0, -1, 0, 0, 0, 0], "0.3 m/s"),
            D::Acceleration => ("acceleration", [1, 0, -2, 0, 0, 0, 0], "0.02 m/s^2"),
            D::Force => ("force", [1, 1, -2, 0, 0, 0, 0], "2 mN"),
            D::Impulse => ("impulse", [1, 1, -1, 0, 0, 0, 0], "0.1 mN s"),
            D::Energy => ("energy", [2, 1, -2, 0, 0, 0, 0], "5 uJ"),
            D::Pressure => ("pressure", [-1, 1, -2, 0, 0, 0, 0], "84 kPa"),
            D::Temperature => ("temperature", [0, 0, 0, 1, 0, 0, 0], "22 +- 0.5 degC"),
            D::TemperatureDifference => ("temperature difference", [0, 0, 0, 1, 0, 0, 0], "0.5 K"),
            D::Density => ("density", [-3, 1, 0, 0, 0, 0, 0], "1000 kg/m^3"),
            D::SurfaceTension => ("surface tension", [0, 1, -2, 0, 0, 0, 0], "72.8 mN/m"),
            D::DynamicViscosity => ("dynamic viscosity", [-1, 1, -1, 0, 0, 0, 0], "1.2 mPa s"),
            D::KinematicViscosity => ("kinematic viscosity", [2, 0, -1, 0, 0, 0, 0], "10 cSt"),
            D::Amount => ("amount", [0, 0, 0, 0, 1, 0, 0], "12 mmol"),
            D::Angle => ("angle", [0, 0, 0, 0, 0, 0, 1], "4 deg"),
            D::AngularRate => ("angular rate", [0, 0, -1, 0, 0, 0, 1], "30 deg/s"),
            D::Fraction => ("fraction", [0; 7], "0.40 +- 0.005"),
            D::Pixel => ("pixels", [0, 0, 0, 0, 0, 1, 0], "3 px"),
            D::LengthPerPixel => (
                "length per pixel",
                [1, 0, 0, 0, 0, -1, 0],
                "0.050 +- 0.0003 mm/px",
            ),
        }
    }

    /// Plain name, lower case.
    pub fn name(self) -> &'static str {
        self.row().0
    }

    /// Exponents of the base units.
    pub fn exponents(self) -> Exponents {
        self.row().1
    }

    /// A text that parses as this dimension, for messages and help.
    pub fn example(self) -> &'static str {
        self.row().2
    }

    /// Every dimension, for tables and tests.
    pub fn all() -> [Dimension; 24] {
        use Dimension as D;
        [
            D::Length,
            D::Area,
            D::Volume,
            D::Mass,
            D::Time,
            D::Rate,
            D::Speed,
            D::Acceleration,
            D::Force,
            D::Impulse,
            D::Energy,
            D::Pressure,
            D::Temperature,
            D::TemperatureDifference,
            D::Density,
            D::SurfaceTension,
            D::DynamicViscosity,
            D::KinematicViscosity,
            D::Amount,
            D::Angle,
            D::AngularRate,
            D::Fraction,
            D::Pixel,
            D::LengthPerPixel,
        ]
    }

    /// The first dimension with these exponents, to name what was found.
    pub fn of(exponents: Exponents) -> Option<Dimension> {
        Self::all().into_iter().find(|d| d.exponents() == exponents)
    }
}

impl std::fmt::Display for Dimension {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
