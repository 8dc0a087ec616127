//! Every rule of the catalogue: one system in which it fires on the right part with the right
//! severity, and sound systems on which nothing but advice is said.

#[path = "rules/build.rs"]
mod build;
#[path = "rules/controls.rs"]
mod controls;
#[path = "rules/discharge.rs"]
mod discharge;
#[path = "rules/examples.rs"]
mod examples;
#[path = "rules/expansion.rs"]
mod expansion;
#[path = "rules/fit.rs"]
mod fit;
#[path = "rules/heating.rs"]
mod heating;
#[path = "rules/papers.rs"]
mod papers;
#[path = "rules/safety.rs"]
mod safety;
#[path = "rules/systems.rs"]
mod systems;
#[path = "rules/water.rs"]
mod water;

use build::sound;

#[test]
fn sound_systems_raise_nothing() {
    sound(&systems::indirect().check());
    sound(&systems::direct().check());
}
