//! Audits of planted faults.
