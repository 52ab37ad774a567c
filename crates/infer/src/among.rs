//! One quantity from several runs: their mean, what varies between them, what they share, and which of them disagrees.
//!
//! ```text
//! y_i = mu + b_i + e_i + sum_k c_ik x_k,        V = D + C + tau^2 I
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y_i`, `mu` | value of run i, what all runs are of | unit of y |
//! | `b_i`, `tau` | what differs from run to run, its standard deviation | unit of y |
//! | `e_i`, `D` | error of run i alone, its variance on the diagonal | unit of y |
//! | `c_ik x_k`, `C` | part of an input that several runs share, covariance from these | unit of y |
//!
//! Values are [`tremolet_matter::uncertain::Uncertain`]: inputs with the same key are one and the same, all others independent.
//! [`identity`] says which inputs of two runs are one.

pub mod agree;
pub mod contrast;
pub mod identity;
pub mod mean;
pub mod scaling;

#[cfg(test)]
mod sample {
    use tremolet_matter::uncertain::{Input, Uncertain};

    /// A value with independent parts, each by its key and standard uncertainty.
    pub fn value(y: f64, parts: &[(&str, f64)]) -> Uncertain {
        parts.iter().fold(Uncertain::exact(y), |sum, (key, u)| {
            let input = Input {
                key: (*key).into(),
                unit: "1".into(),
                standard_uncertainty: *u,
                degrees_of_freedom: f64::INFINITY,
                source: "test".into(),
            };
            sum.with_input(*u, input)
        })
    }
}
