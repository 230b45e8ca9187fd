pub mod physics;
pub mod units;
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum UnitSystem {
    Si,
    Us,
}
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct JobRecord {
    pub version: i64,
}
pub fn parse(t: &str) -> Result<JobRecord, String> {
    serde_json::from_str(t).map_err(|e| e.to_string())
}
pub fn assess(_: &JobRecord, _: UnitSystem) -> record::answer::Assessment {
    todo!()
}
pub mod record {
    pub mod answer {
        #[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
        pub struct Assessment {
            pub rules: String,
            pub findings: Vec<Finding>,
        }
        #[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
        pub struct Finding {
            pub code: String,
            pub about: String,
            pub weight: Weight,
            pub evidence: Vec<String>,
            pub values: serde_json::Value,
            pub says: String,
            pub do_next: String,
        }
        #[derive(Debug, Clone, Copy, serde::Serialize, serde::Deserialize)]
        pub enum Weight {
            Blocks,
        }
        impl Weight {
            pub fn word(self) -> &'static str {
                "blocks"
            }
        }
    }
}
pub fn schema_record() -> serde_json::Value {
    serde_json::Value::Null
}
pub fn schema_answer() -> serde_json::Value {
    serde_json::Value::Null
}
