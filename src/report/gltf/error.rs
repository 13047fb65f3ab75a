//! What cannot be written as glTF.

/// Why a scene could not be written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error, miette::Diagnostic)]
pub enum GltfError {
    /// A way of a body that is not there.
    #[error("the scene has no body `{body}`, which the motion moves")]
    #[diagnostic(help("run `way-in` on this scene, with the same --script, and give its file"))]
    NoBody {
        /// Its name.
        body: String,
    },
    /// Two ways of one body.
    #[error("the motion moves `{body}` twice")]
    #[diagnostic(help("one file holds one way a body; write it again with --format json"))]
    Twice {
        /// Its name.
        body: String,
    },
    /// A GLB says its length in 32 bits.
    #[error("the file would be {bytes} bytes long; GLB ends at 4294967295")]
    #[diagnostic(help("give a greater --chord, or thin the scans (`baywright scan`)"))]
    TooLarge {
        /// How long.
        bytes: u64,
    },
}
