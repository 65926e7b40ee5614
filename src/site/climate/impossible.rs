//! Values that no place on earth has, gathered while a file is read, so that a check tells them all.

use super::error::{Fault, ReadError};

/// How many are kept with their place; the rest are counted.
const KEPT: usize = 20;

/// Values that cannot be, in the order of the file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Impossible {
    /// The first of them.
    pub first: Vec<ReadError>,
    /// How many there are in all.
    pub count: usize,
}

impl Impossible {
    /// The value that was read, or none in place of one that cannot be, which is kept in mind. Other faults
    /// leave nothing to read on from and pass.
    pub(super) fn spare<T>(&mut self, read: Result<Option<T>, ReadError>) -> Result<Option<T>, ReadError> {
        match read {
            Err(error) if matches!(error.fault, Fault::OutOfRange { .. } | Fault::RainOfAnHour { .. }) => {
                self.count += 1;
                if self.first.len() < KEPT {
                    self.first.push(error);
                }
                Ok(None)
            }
            other => other,
        }
    }

    /// Puts others behind these.
    pub(super) fn append(&mut self, others: Self) {
        self.count += others.count;
        self.first.extend(others.first);
        self.first.truncate(KEPT);
    }

    /// Those that are only counted.
    #[must_use]
    pub fn more(&self) -> usize {
        self.count - self.first.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_are_kept_and_the_rest_counted() {
        let mut impossible = Impossible::default();
        let odd = |line| {
            let fault = Fault::OutOfRange { value: "999".into(), low: "-90", high: "60 degC" };
            Err::<Option<f64>, _>(ReadError::at(line, Some(24), fault))
        };
        (1..=23).for_each(|line| assert_eq!(impossible.spare(odd(line)), Ok(None)));
        assert_eq!((impossible.first.len(), impossible.count, impossible.more()), (20, 23, 3));
        assert_eq!(impossible.first[19].line, 20);
        assert_eq!(impossible.spare(Ok(Some(4.0))), Ok(Some(4.0)));
        let cut = || Err::<Option<f64>, _>(ReadError::at(9, Some(1), Fault::Empty));
        assert_eq!(impossible.spare(cut()), cut());
    }
}
