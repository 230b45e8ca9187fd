//! The volume of a circuit by letting nitrogen expand into it out of a vessel whose volume is known.
//!
//! Boyle's law on both together, all at one temperature: V = Vref (pref - p)/(p - p0). Only differences of pressures count, so that the surrounding
//! air's pressure and a zero error of the gauge fall out where one gauge reads all three; what stays is its resolution. That nitrogen is no
//! ideal gas moves the answer by less than 0.5 % up to 1 MPa.
use crate::units::{AbsolutePressure, Resolution, Volume};

/// What was read, on one gauge, after it stood still each time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expansion {
    /// The vessel's volume, with its hose up to the valve that is opened.
    pub vessel: Volume,
    /// The vessel's pressure before.
    pub vessel_before: AbsolutePressure,
    /// The circuit's pressure before.
    pub circuit_before: AbsolutePressure,
    /// The pressure of both after the valve was opened.
    pub after: AbsolutePressure,
    /// The gauge's resolution: each reading may be off by half of it.
    pub resolution: Resolution,
}

/// The circuit's volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// What the readings say.
    pub volume: Volume,
    /// The least that they allow.
    pub low: Volume,
    /// The most that they allow.
    pub high: Volume,
}

/// Why readings give no volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoVolume {
    /// The vessel holds nothing.
    #[error("the vessel’s volume is more than nothing")]
    Vessel,
    /// A pressure is below zero absolute.
    #[error("a pressure below nothing cannot be")]
    BelowVacuum,
    /// The pressure did not fall in the vessel.
    #[error("the pressure after must be below the vessel’s before: nitrogen flowed out of it")]
    NotBelowVessel,
    /// The pressure did not rise in the circuit.
    #[error("the pressure after must be above the circuit’s before: nitrogen flowed into it")]
    NotAboveCircuit,
    /// The gauge cannot tell a reading from the next.
    #[error(
        "the readings lie closer together than the gauge can tell; begin with more pressure in the vessel"
    )]
    TooNear,
}

impl Expansion {
    /// The volume, between the corners of what half a graduation at each of the three readings makes: V falls with `after` and rises with both others.
    ///
    /// # Errors
    /// The readings cannot be those of such an expansion, or lie closer together than the gauge can tell.
    pub fn volume(self) -> Result<Measured, NoVolume> {
        let (vessel, reference, empty, after) = (
            self.vessel.m3(),
            self.vessel_before.pa(),
            self.circuit_before.pa(),
            self.after.pa(),
        );
        let off = 0.5 * self.resolution.pa();
        match () {
            () if !(vessel.is_finite() && vessel > 0.0) => return Err(NoVolume::Vessel),
            () if !(empty >= 0.0 && after >= 0.0 && reference >= 0.0) => {
                return Err(NoVolume::BelowVacuum);
            }
            () if after >= reference => return Err(NoVolume::NotBelowVessel),
            () if after <= empty => return Err(NoVolume::NotAboveCircuit),
            () if after - empty <= 2.0 * off || reference - after <= 2.0 * off => {
                return Err(NoVolume::TooNear);
            }
            () => {}
        }
        let v = |reference: f64, empty: f64, after: f64| {
            Volume::new(vessel * (reference - after) / (after - empty))
        };
        Ok(Measured {
            volume: v(reference, empty, after),
            low: v(reference - off, empty - off, after + off),
            high: v(reference + off, empty + off, after - off),
        })
    }
}
