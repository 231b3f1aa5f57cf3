//! Tests of the tablet.
