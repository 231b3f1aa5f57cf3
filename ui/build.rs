//! Compiles the screens. Debug info stays in, so that tests find elements by their accessible label.

fn main() {
    let settings = slint_build::CompilerConfiguration::new()
        .with_style("fluent-dark".into())
        .embed_resources(slint_build::EmbedResourcesKind::EmbedFiles)
        .with_debug_info(true);
    slint_build::compile_with_config("app.slint", settings).expect("the screens compile");
}
