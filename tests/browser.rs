//! The page in a real browser.

mod access;
mod drive;
mod pages;
mod start;
