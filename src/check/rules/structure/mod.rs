//! STR: what the building has to bear and what may be cut into it.

mod load;
mod passages;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[load::RULES, passages::RULES];
