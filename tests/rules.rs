//! Every rule of the catalogue: one system in which it fires on the right part with the right
//! severity, and sound systems on which nothing but advice is said.

#[path = "rules/build.rs"]
mod build;
#[path = "rules/discharge.rs"]
mod discharge;
#[path = "rules/safety.rs"]
mod safety;
#[path = "rules/systems.rs"]
mod systems;

use build::sound;

#[test]
fn sound_systems_raise_nothing() {
    sound(&systems::indirect().check());
    sound(&systems::direct().check());
}
