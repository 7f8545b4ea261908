//! Reserved for the demo: the shipped photos read with the shipped card and kit into a log that is forgotten afterwards.
