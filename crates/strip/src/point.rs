//! Points of the plane and what is done with them.

use std::ops::{Add, Mul, Neg, Sub};

/// A point or a shift in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Along the drawing's first axis.
    pub x: f64,
    /// Along its second.
    pub y: f64,
}

impl Point {
    /// The point at these coordinates.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at an angle from the first axis.
    pub(crate) fn at_angle(angle: f64) -> Self {
        let (sine, cosine) = libm::sincos(angle);
        Self::new(cosine, sine)
    }

    pub(crate) fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Twice the signed area of the triangle that the two vectors span:
    /// positive where `other` lies to the left.
    pub(crate) fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    pub(crate) fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    pub(crate) fn distance(self, other: Self) -> f64 {
        (self - other).length()
    }

    pub(crate) fn angle(self) -> f64 {
        libm::atan2(self.y, self.x)
    }

    /// Turned counter-clockwise by the angle whose unit vector is `by`.
    pub(crate) fn turned(self, by: Self) -> Self {
        Self::new(self.x * by.x - self.y * by.y, self.x * by.y + self.y * by.x)
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.x * by, self.y * by)
    }
}

impl Neg for Point {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

/// A rectangle along the axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// The corner with the least coordinates.
    pub low: Point,
    /// The corner with the largest.
    pub high: Point,
}

impl Extent {
    pub(crate) const NONE: Self = Self {
        low: Point::new(f64::INFINITY, f64::INFINITY),
        high: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    pub(crate) fn take(&mut self, point: Point) {
        self.low = Point::new(self.low.x.min(point.x), self.low.y.min(point.y));
        self.high = Point::new(self.high.x.max(point.x), self.high.y.max(point.y));
    }

    pub(crate) fn with(mut self, other: &Self) -> Self {
        self.take(other.low);
        self.take(other.high);
        self
    }

    /// Its two sides.
    pub fn size(&self) -> Point {
        self.high - self.low
    }

    /// Whether the two come nearer to each other than `gap` in both axes.
    pub(crate) fn near(&self, other: &Self, gap: f64) -> bool {
        self.low.x - gap <= other.high.x
            && other.low.x - gap <= self.high.x
            && self.low.y - gap <= other.high.y
            && other.low.y - gap <= self.high.y
    }
}
