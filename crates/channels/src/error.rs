//! What can be wrong with a map.
use thiserror::Error;
/// What is wrong with a channel, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ChannelError {
    /// Name.
    #[error("channel name '{name}'")]
    Name {
        /// It.
        name: String,
    },
}
