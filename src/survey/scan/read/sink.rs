//! What takes the points of a scan while it is read.

use nalgebra::Point3;

use crate::space::Bounds;

use super::super::{PointCloud, ScanError};

/// What takes the points of a scan while it is read: points are added to [`Self::buffer`], and
/// [`Self::taken`] says that a batch is complete.
pub trait ScanSink {
    /// How many points the file says that it has, where it says so. Called before the first batch.
    fn expect(&mut self, _count: usize) {}

    /// Where the next points are added, at the end, in mm.
    fn buffer(&mut self) -> &mut PointCloud;

    /// A batch is complete.
    ///
    /// # Errors
    /// Points that cannot be taken.
    fn taken(&mut self) -> Result<(), ScanError>;

    /// The last batch was complete; called once, at the end of the file.
    ///
    /// # Errors
    /// Points that cannot be taken.
    fn ended(&mut self) -> Result<(), ScanError> {
        Ok(())
    }
}

/// Keeps every point, in the order of the file: 24 bytes a point, 48 with normals.
impl ScanSink for PointCloud {
    fn expect(&mut self, count: usize) {
        self.points.reserve(count);
    }

    fn buffer(&mut self) -> &mut PointCloud {
        self
    }

    fn taken(&mut self) -> Result<(), ScanError> {
        match u32::try_from(self.points.len()) {
            Ok(_) => Ok(()),
            Err(_) => Err(ScanError::TooMany { given: self.points.len() }),
        }
    }
}

/// Keeps the extent alone: for a look at a file before its unit is known.
#[derive(Clone, Debug, Default)]
pub struct ExtentOnly {
    bounds: Option<Bounds>,
    batch: PointCloud,
}

impl ExtentOnly {
    /// The box that holds all points; `None` before the first.
    pub fn bounds(&self) -> Option<Bounds> {
        self.bounds
    }
}

impl ScanSink for ExtentOnly {
    fn buffer(&mut self) -> &mut PointCloud {
        &mut self.batch
    }

    fn taken(&mut self) -> Result<(), ScanError> {
        for point in self.batch.points.drain(..) {
            let bounds = self.bounds.get_or_insert(Bounds { min: point, max: point });
            bounds.min = Point3::from(bounds.min.coords.inf(&point.coords));
            bounds.max = Point3::from(bounds.max.coords.sup(&point.coords));
        }
        self.batch.normals.clear();
        Ok(())
    }
}
