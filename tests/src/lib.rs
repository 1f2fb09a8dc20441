//! Are the equations solved right, and does the tool do what it says? See `tests/`.
