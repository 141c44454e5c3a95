//! Layout on disk.
