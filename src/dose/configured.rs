//! What of dose a site configures, as it stands in force for a case and is kept in its record.

use super::{DEFAULT_SET, DoseCoefficients, Entrance, NotificationLevels, Position, Scatter, TubeSide};
use serde::{Deserialize, Serialize};

/// Id under which a site confirms the figures of scatter and aprons.
pub const SCATTER: &str = "scatter";
/// The levels in force if a site names no others: the one set with a level for each figure that a console shows.
const DEFAULT_LEVELS: &str = "ncrp-168";

/// Which sets are in force, and which of them stand from memory without this site having confirmed them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DoseConfigured {
    /// Id of the set of coefficients for effective dose.
    pub coefficients: String,
    pub coefficients_from_memory: bool,
    /// Id of the set of notification levels.
    pub levels: String,
    pub levels_from_memory: bool,
    pub scatter_from_memory: bool,
    /// How the patient lies.
    pub position: Position,
    /// Where the tube is, but for a lateral.
    pub tube: TubeSide,
}

impl Default for DoseConfigured {
    /// Nothing confirmed; prone, with the tube under the table.
    fn default() -> Self {
        Self::of(None, None, &[], Position::Prone, TubeSide::UnderTable)
    }
}

impl DoseConfigured {
    /// Sets by their ids, the default for none; `confirmed` are ids that the site checked against the publication.
    #[must_use]
    pub fn of(
        coefficients: Option<&str>,
        levels: Option<&str>,
        confirmed: &[String],
        position: Position,
        tube: TubeSide,
    ) -> Self {
        let coefficients = coefficients.unwrap_or(DEFAULT_SET).to_owned();
        let levels = levels.unwrap_or(DEFAULT_LEVELS).to_owned();
        let open = |from_memory: bool, id: &str| from_memory && !confirmed.iter().any(|one| one == id);
        let (sets, level_sets) = (DoseCoefficients::built_in(), NotificationLevels::built_in());
        let coefficients_from_memory = sets.set(&coefficients).is_none_or(|set| open(set.from_memory, &set.id));
        let levels_from_memory = level_sets.set(&levels).is_none_or(|set| open(set.from_memory, &set.id));
        let scatter_from_memory = open(Scatter::built_in().from_memory, SCATTER);
        Self { coefficients, coefficients_from_memory, levels, levels_from_memory, scatter_from_memory, position, tube }
    }

    /// Where the beam enters in a view that is no lateral.
    #[must_use]
    pub fn entrance(&self) -> Entrance {
        Entrance::of(self.position, self.tube)
    }

    /// Ids that count as confirmed for this case.
    #[must_use]
    pub fn confirmed(&self) -> Vec<String> {
        let sets = [
            (&*self.coefficients, self.coefficients_from_memory),
            (&*self.levels, self.levels_from_memory),
            (SCATTER, self.scatter_from_memory),
        ];
        sets.into_iter().filter(|(_, from_memory)| !from_memory).map(|(id, _)| id.to_owned()).collect()
    }
}
