//! Pages: router, access, errors, forms; one module for each screen, its handler, form and view model beside each other.
pub mod access;
pub mod app;
pub mod assets;
pub mod bench;
pub mod ctx;
pub mod error;
pub mod findings;
pub mod form;
pub mod page;
pub mod router;

pub mod details;
pub mod devices;
pub mod estimate;
pub mod handover;
pub mod intake;
pub mod invoice;
pub mod order;
pub mod parts;
pub mod photographs;
pub mod report;
pub mod review;
pub mod shop;
pub mod sign_in;
pub mod start;
pub mod today;

pub use app::App;
pub use ctx::Ctx;
pub use error::Fault;
pub use form::{Field, Fieldset, Form, Kind, Opt};
pub use page::Page;
