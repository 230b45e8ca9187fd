//! Figures as SVG: pure functions from plain data. Styled by the page's style sheet; nothing is drawn that is not also said in words.
pub mod curve;
pub mod outlook;
pub mod qr;
pub mod ring;
