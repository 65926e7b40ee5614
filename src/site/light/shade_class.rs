//! Depth of shade in classes.

/// Depth of shade, as the plant literature counts it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShadeClass {
    /// Nothing of note stands in the way.
    FullSun,
    /// Half a day of sun.
    PartShade,
    /// Few hours of sun.
    Shade,
    /// Hardly any sun.
    DenseShade,
}

impl ShadeClass {
    /// The step of the scale `shade`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FullSun => "full-sun",
            Self::PartShade => "light-shade",
            Self::Shade => "moderate-shade",
            Self::DenseShade => "dense-shade",
        }
    }
}

/// Class of shade by the share of open-sky DLI that reaches the turf: full sun from 0.65, part
/// shade from 0.35, shade from 0.20, dense shade below (common practice). The limits are set so
/// that eight hours of sun are full sun and four part shade at middle latitudes. `None` for NaN.
#[must_use]
pub fn shade_class(share: f64) -> Option<ShadeClass> {
    if share.is_nan() {
        return None;
    }
    Some(if share >= 0.65 {
        ShadeClass::FullSun
    } else if share >= 0.35 {
        ShadeClass::PartShade
    } else if share >= 0.20 {
        ShadeClass::Shade
    } else {
        ShadeClass::DenseShade
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_light_is_no_class() {
        assert_eq!(shade_class(f64::NAN), None);
    }
}
