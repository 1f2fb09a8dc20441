//! Columns that tables of several reports have in common.

use super::layout::Column;

/// The box around a region and its area; of a section turned about its axis the radii in place of
/// width and left edge.
pub const BOX: [Column; 7] = [
    Column::Number("width", "width", 4),
    Column::Number("left", "left", 4),
    Column::Number("inner_radius", "inner\nradius", 4),
    Column::Number("outer_radius", "outer\nradius", 4),
    Column::Number("height", "height", 4),
    Column::Number("bottom", "bottom", 4),
    Column::Number("area", "area", 4),
];

/// The pull on a string.
pub const PULL: [Column; 2] =
    [Column::Number("pull_up", "pull\nup", 4), Column::Number("pull_across", "pull\nacross", 4)];

/// What a string does to a coil.
pub const OUTPUT: [Column; 3] = [
    Column::Number("linkage_change_up", "flux change\nup", 4),
    Column::Number("linkage_change_across", "flux change\nacross", 4),
    Column::Number("level", "level", 3),
];

/// Where a magnet works on its demagnetisation curve.
pub const WORKING_POINT: [Column; 6] = [
    Column::Number("working_field_strength", "H along\ncharge", 4),
    Column::Number("working_flux_density", "B along\ncharge", 4),
    Column::Number("permeance_coefficient", "permeance\ncoeff.", 3),
    Column::Number("margin_to_knee", "margin\nto knee", 3),
    Column::Number("share_below_knee", "below\nknee", 3),
    Column::Number("charge_kept", "charge\nkept", 3),
];
