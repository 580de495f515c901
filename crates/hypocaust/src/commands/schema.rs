//! `schema`: the shapes of what goes in and comes out.

use crate::Status;
use crate::arguments::SchemaOf;
use crate::failure::Failure;
use crate::output;

pub fn schema(of: SchemaOf) -> Result<Status, Failure> {
    match of {
        SchemaOf::Design => output::print([format!("{:#}\n", design::schema::schema()).as_bytes()])?,
        SchemaOf::HouseStandard => output::print([format!("{:#}\n", design::schema::house_standard()).as_bytes()])?,
        SchemaOf::Check => output::print([include_bytes!("../../../../schema/check.schema.json").as_slice()])?,
        SchemaOf::Compare => output::print([include_bytes!("../../../../schema/compare.schema.json").as_slice()])?,
        SchemaOf::Manifest => output::print([include_bytes!("../../../../schema/manifest.schema.json").as_slice()])?,
        SchemaOf::Schedule => output::print([include_bytes!("../../../../schema/schedule.schema.json").as_slice()])?,
        SchemaOf::Workings => output::print([include_bytes!("../../../../schema/workings.schema.json").as_slice()])?,
    }
    Ok(Status::Clean)
}
