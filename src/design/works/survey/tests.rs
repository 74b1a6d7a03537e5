//! Surveys of small systems.
