//! Tests of the whole: see the files in this folder.
