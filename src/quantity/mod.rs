//! Exact lengths and the other quantities of the trade: arithmetic, parsing and display.
