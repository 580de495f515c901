//! What the design is, where it stands, and what was agreed.

use crate::read::{Given, List};
use crate::record::{record, words};
use jiff::civil::Date;
use quantity::{Angle, Length, Temperature};

words! {
    /// How far the design has come. What is a hint in an early stage may be an error in a later one.
    Stage {
        /// Still being drawn.
        "preliminary" Preliminary,
        /// Sent out to be looked at.
        "for comment" ForComment,
        /// Issued to be built from.
        "for construction" ForConstruction,
        /// Built; the file holds what was laid and recorded.
        "as built" AsBuilt,
    }
}

words! {
    /// What kind of work it is: regulations ask different things of each.
    Scope {
        /// A new building.
        "new building" NewBuilding,
        /// A new part of an old building.
        "extension" Extension,
        /// A building turned to another use.
        "conversion" Conversion,
        /// An old building made new.
        "renovation" Renovation,
        /// A new heating system in a building that stays as it is.
        "replacement" Replacement,
    }
}

words! {
    /// Whose regulations apply.
    Jurisdiction {
        /// England.
        "England" England,
        /// Wales.
        "Wales" Wales,
        /// Scotland.
        "Scotland" Scotland,
        /// Northern Ireland.
        "Northern Ireland" NorthernIreland,
        /// The Republic of Ireland.
        "Ireland" Ireland,
        /// France.
        "France" France,
        /// Germany.
        "Germany" Germany,
        /// Anywhere else: regulation rules are not checked.
        "elsewhere" Elsewhere,
    }
}

record! {
    /// What the design is called, its revision and stage, and who stands for it.
    Project {
        /// The name of the project.
        "name" name: Given<String>,
        /// The firm's reference for it.
        "reference" reference: Given<String>,
        /// The revision of this design, as on the drawing.
        "revision" revision: Given<String>,
        /// How far the design has come.
        "stage" stage: Given<Stage>,
        /// The day this revision was issued.
        "issued" issued: Given<Date>,
        /// Earlier revisions and the days they were issued, oldest first.
        "earlier-revisions" earlier_revisions: List<EarlierRevision>,
        /// What kind of work it is.
        "scope" scope: Given<Scope>,
        /// Who designed it.
        "designer" designer: Given<String>,
        /// Who checked it: someone else.
        "checker" checker: Given<String>,
        /// The competent people named for licensed work.
        "competent-people" competent_people: CompetentPeople,
        /// The reference of the notice given to building control, where the work is notifiable.
        "building-control-notice" building_control_notice: Given<String>,
    }
}

record! {
    /// An earlier issue of the design.
    EarlierRevision {
        /// The revision.
        "revision" revision: Given<String>,
        /// The day it was issued.
        "issued" issued: Given<Date>,
    }
}

record! {
    /// The competent people named for licensed work.
    CompetentPeople {
        /// For gas, oil or solid-fuel work.
        "fuel" fuel: Given<String>,
        /// For electrical work.
        "electrical" electrical: Given<String>,
        /// For unvented hot water.
        "hot-water" hot_water: Given<String>,
        /// The structural engineer who agreed to what is added to a floor.
        "structure" structure: Given<String>,
    }
}

record! {
    /// Where the building stands and under which rules.
    Site {
        /// The outdoor temperature that the heating is designed for.
        "outdoor-temperature" outdoor_temperature: Given<Temperature>,
        /// The mean temperature of the ground under the floor over the year; 10 °C if left out.
        "ground-temperature" ground_temperature: Given<Temperature>,
        /// How deep the ground water stands below the floor.
        "ground-water-depth" ground_water_depth: Given<Length>,
        /// How far north lies from the top of the plan, clockwise: `90°` if it lies to the right.
        "north" north: Given<Angle>,
        /// Whose regulations apply.
        "jurisdiction" jurisdiction: Given<Jurisdiction>,
        /// The year the building was built.
        "built" built: Given<u32>,
        /// What the enquiry for asbestos found, and when; for work in old buildings.
        "asbestos-enquiry" asbestos_enquiry: Given<String>,
        /// The keys of this block whose values are assumed and still to be confirmed.
        "assumed" assumed: List<String>,
    }
}

record! {
    /// A finding accepted on purpose.
    Departure {
        /// The rule that is departed from.
        "rule" rule: Given<String>,
        /// Where: a name such as `L4`, or with its block, `loops/L4`; left out, everywhere.
        "at" at: Given<String>,
        /// Why.
        "reason" reason: Given<String>,
        /// The role of the person who agreed.
        "agreed-by" agreed_by: Given<String>,
        /// The last day on which it holds.
        "until" until: Given<Date>,
    }
}
