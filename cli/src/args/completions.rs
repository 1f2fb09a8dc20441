//! `lodestring completions`.

use clap::Args;
use clap_complete::Shell;

/// Print the completion script of a shell
///
/// For bash: `lodestring completions bash > ~/.local/share/bash-completion/completions/lodestring`.
/// For zsh, write it as `_lodestring` into a folder of `$fpath`; for fish, as `lodestring.fish`
/// into `~/.config/fish/completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// Which shell
    #[arg(value_enum, value_name = "SHELL")]
    pub shell: Shell,
}
