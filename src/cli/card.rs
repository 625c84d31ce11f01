//! stub
/// x
pub fn run(_: &super::args::Card) -> Result<super::exit::End, super::exit::CliError> {
    Ok(super::exit::End::Fine)
}
