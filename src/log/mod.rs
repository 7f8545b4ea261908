//! log
