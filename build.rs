//! Links the system's PROJ: the `proj` crate's own build would bundle a second copy beside GDAL's.
fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rustc-link-lib=proj");
}
