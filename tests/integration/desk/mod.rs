//! The desk under attack: a local server can be reached by every page that its user visits, by every program of the
//! machine, and its folder by everything that writes there. Each guard has a test that fails without it.

#[cfg(unix)]
mod beside;
mod client;
mod disk;
mod ending;
mod entry;
mod load;
mod names;
mod offers;
mod papers;
mod results;
mod saving;
