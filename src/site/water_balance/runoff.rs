//! What of the rain runs off a site, and what is supposed where the site file does not say.

use crate::knowledge::Knowledge;
use crate::site::daily_weather::{curve_number, curve_number_on_slope};
use crate::site::facts::{SiteFacts, Workbench};
use crate::site::texture::Texture;
use crate::units::format_number;

/// Run-off of a site by its curve number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Runoff {
    /// Curve number of the texture on the slope.
    pub curve_number: f64,
    texture: Texture,
    texture_known: bool,
    slope_known: bool,
}

impl Runoff {
    /// Of a site; an unknown texture runs off as a loam, an unknown slope as level ground.
    #[must_use]
    pub fn of(facts: &SiteFacts, knowledge: &Knowledge) -> Self {
        let bench = Workbench::new(knowledge, facts.clone());
        let own = bench.name_of("texture").and_then(Texture::from_name);
        let slope = bench.number("slope_pct");
        let texture = own.unwrap_or(Texture::Loam);
        let curve_number = curve_number_on_slope(curve_number(texture), slope.unwrap_or(0.0));
        Self { curve_number, texture, texture_known: own.is_some(), slope_known: slope.is_some() }
    }

    /// The curve number and what was supposed, for the answer.
    #[must_use]
    pub fn words(&self) -> String {
        let supposed = match (self.texture_known, self.slope_known) {
            (true, true) => "",
            (false, true) => ", the texture not being known",
            (true, false) => ", on level ground since no slope is stated",
            (false, false) => ", the texture not being known, on level ground since no slope is stated",
        };
        let number = format_number(self.curve_number.round());
        format!("rain runs off by curve number {number} of a {}{supposed}", self.texture.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_supposed_is_told() {
        let runoff = |texture_known, slope_known| Runoff {
            curve_number: 74.2,
            texture: Texture::Loam,
            texture_known,
            slope_known,
        };
        assert_eq!(runoff(true, true).words(), "rain runs off by curve number 74 of a loam");
        let words = runoff(false, false).words();
        assert!(words.contains("texture not being known") && words.contains("no slope is stated"), "{words}");
        assert!(!runoff(false, true).words().contains("slope"));
    }
}
