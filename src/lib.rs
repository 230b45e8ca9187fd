//! Chillwright: job tracking for the garage that repairs car air conditioning.
