//! Compiles the .proto files with protox: no protoc needed on the machine.

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!("cargo:rerun-if-changed=proto");
    let files = protox::compile(["proto/record.proto"], ["proto"])?;
    prost_build::Config::new().compile_fds(files)?;
    #[cfg(feature = "relay")]
    relay()?;
    Ok(())
}

/// The relay's service, and its description for whoever asks it what it offers.
#[cfg(feature = "relay")]
fn relay() -> Result<(), Box<dyn std::error::Error>> {
    use prost::Message as _;

    let files = protox::compile(["proto/relay.proto"], ["proto"])?;
    let out = std::path::PathBuf::from(std::env::var_os("OUT_DIR").ok_or("OUT_DIR is not set")?);
    std::fs::write(out.join("relay.description"), files.encode_to_vec())?;
    tonic_prost_build::configure().build_transport(false).compile_fds(files)?;
    Ok(())
}
