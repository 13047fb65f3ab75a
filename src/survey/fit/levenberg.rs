//! Least squares by damped Gauss-Newton steps.
