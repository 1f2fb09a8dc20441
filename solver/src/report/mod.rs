//! Numbers to records and files.
