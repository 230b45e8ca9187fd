//! Laws and properties; nothing here knows of a job.
