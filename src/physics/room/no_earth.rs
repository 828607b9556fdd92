//! Replaces the earth's field if the library is built without the feature `site`.

use super::earth_field::EarthField;
use crate::pair::Site;
use crate::{Error, Result};

/// Always an error: this build contains no model of the earth's field.
pub fn earth_field(_site: &Site) -> Result<EarthField> {
    Err(Error::value_with_hint(
        "`room.site` asks for the earth's field, and this build carries no model of it",
        "build the library with its feature `site`, or give the measured field as `room.field`",
    ))
}
