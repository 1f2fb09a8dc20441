//! Which piece of the section is shown, and where each point of it falls on the picture.
//!
//! x_px = left_px + s (x - left), y_px = top_px + s (top - y), with the same scale s for both.

use crate::point::Point;

/// An upright rectangle of the section, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Least x, m.
    pub left: f64,
    /// Least y, m.
    pub bottom: f64,
    /// Largest x, m.
    pub right: f64,
    /// Largest y, m.
    pub top: f64,
}

impl Window {
    /// Holds nothing; grows by [`Window::with`].
    pub const EMPTY: Self = Self {
        left: f64::INFINITY,
        bottom: f64::INFINITY,
        right: f64::NEG_INFINITY,
        top: f64::NEG_INFINITY,
    };

    /// The smallest window that also holds `p`.
    #[must_use]
    pub fn with(self, p: Point) -> Self {
        Self {
            left: self.left.min(p.x),
            bottom: self.bottom.min(p.y),
            right: self.right.max(p.x),
            top: self.top.max(p.y),
        }
    }

    /// The smallest window that also holds `other`.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            bottom: self.bottom.min(other.bottom),
            right: self.right.max(other.right),
            top: self.top.max(other.top),
        }
    }

    /// Wider by `margin` (m) on every side.
    #[must_use]
    pub fn grown(self, margin: f64) -> Self {
        Self {
            left: self.left - margin,
            bottom: self.bottom - margin,
            right: self.right + margin,
            top: self.top + margin,
        }
    }

    /// The mirror image in x = 0.
    #[must_use]
    pub fn mirrored(self) -> Self {
        Self { left: -self.right, right: -self.left, ..self }
    }

    /// Width, m; negative when empty.
    pub fn width(self) -> f64 {
        self.right - self.left
    }

    /// Height, m; negative when empty.
    pub fn height(self) -> f64 {
        self.top - self.bottom
    }

    /// Middle, m.
    pub fn middle(self) -> Point {
        Point::new(0.5 * (self.left + self.right), 0.5 * (self.bottom + self.top))
    }

    /// True where the two have a point in common.
    pub fn meets(self, other: Self) -> bool {
        self.left <= other.right
            && other.left <= self.right
            && self.bottom <= other.top
            && other.bottom <= self.top
    }

    /// True where `p` lies in it or on its edge.
    pub fn holds(self, p: Point) -> bool {
        self.left <= p.x && p.x <= self.right && self.bottom <= p.y && p.y <= self.top
    }

    /// True where it has an area and is finite.
    pub fn is_sound(self) -> bool {
        let (w, h) = (self.width(), self.height());
        w.is_finite() && h.is_finite() && w > 0.0 && h > 0.0
    }
}

/// A window laid on the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// What is shown, m.
    pub window: Window,
    /// Left edge on the picture, px.
    pub left_px: f64,
    /// Top edge on the picture, px.
    pub top_px: f64,
    /// px per metre.
    pub scale: f64,
}

impl View {
    /// `window` with its top left corner at (`left_px`, `top_px`) in a frame of `width_px` by at
    /// most `height_px`, about the same middle. The window grows sideways or upward so that it
    /// fills the frame's width and a height between `least_px` and `height_px`.
    pub fn fit(
        window: Window,
        [left_px, top_px]: [f64; 2],
        width_px: f64,
        least_px: f64,
        height_px: f64,
    ) -> Self {
        let (w, h) = (window.width(), window.height());
        let scale = (width_px / w).min(height_px / h);
        let shown_h = (h * scale).clamp(least_px, height_px).round() / scale;
        let (middle, half_w) = (window.middle(), 0.5 * width_px / scale);
        let window = Window {
            left: middle.x - half_w,
            right: middle.x + half_w,
            bottom: middle.y - 0.5 * shown_h,
            top: middle.y + 0.5 * shown_h,
        };
        Self { window, left_px, top_px, scale }
    }

    /// Where `p` falls, px.
    pub fn place(&self, p: Point) -> [f64; 2] {
        [
            self.left_px + self.scale * (p.x - self.window.left),
            self.top_px + self.scale * (self.window.top - p.y),
        ]
    }

    /// Width of the frame, px.
    pub fn width_px(&self) -> f64 {
        self.window.width() * self.scale
    }

    /// Height of the frame, px.
    pub fn height_px(&self) -> f64 {
        self.window.height() * self.scale
    }

    /// Bottom edge of the frame, px.
    pub fn bottom_px(&self) -> f64 {
        self.top_px + self.height_px()
    }

    /// Right edge of the frame, px.
    pub fn right_px(&self) -> f64 {
        self.left_px + self.width_px()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fitted_window_fills_the_frame_about_the_same_middle() {
        let window = Window { left: -2.0, bottom: 0.0, right: 2.0, top: 1.0 };
        let view = View::fit(window, [10.0, 20.0], 400.0, 200.0, 600.0);
        assert_eq!(view.scale, 100.0);
        assert_eq!((view.width_px(), view.height_px()), (400.0, 200.0));
        assert_eq!(view.place(window.middle()), [210.0, 120.0]);
        let tall = View::fit(Window { top: 100.0, ..window }, [0.0; 2], 400.0, 200.0, 600.0);
        assert!((tall.width_px() - 400.0).abs() < 1e-9 && (tall.height_px() - 600.0).abs() < 1e-9);
        assert_eq!(tall.scale, 6.0);
    }
}
