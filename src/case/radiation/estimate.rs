//! What the figures mean, as estimates that are named as such.

use super::Radiation;
use crate::carm::ViewName;
use crate::dose::{DoseCoefficients, DoseConfigured, EffectiveDose, Entrance, EstimateError};
use crate::units::GrayCm2;

impl Radiation {
    /// Kerma-area product of the case by where its beam entered: by view where the machine's events were attributed,
    /// else all of it as the configured position and tube have it.
    #[must_use]
    pub fn entrances(&self, configured: &DoseConfigured) -> Vec<(GrayCm2, Entrance)> {
        let standing = self.standing_reports();
        let briefs: Option<Vec<_>> = standing.iter().map(|report| self.reconciled.get(&report.seq)).collect();
        let rows = briefs.into_iter().flatten().flat_map(|brief| &brief.what.rows);
        let by_view: Vec<(GrayCm2, Entrance)> = rows
            .filter_map(|row| {
                // Both sides have one coefficient, so which side a lateral entered decides nothing.
                let lateral = row.tag.view.as_deref() == Some(ViewName::Lateral.word());
                let entrance = if lateral { Entrance::Left } else { configured.entrance() };
                row.kerma_area_product.map(|area| (area, entrance))
            })
            .collect();
        if !by_view.is_empty() {
            return by_view;
        }
        let whole = self.figures().and_then(|(figures, ..)| figures.kerma_area_product);
        whole.map(|area| (area, configured.entrance())).into_iter().collect()
    }

    /// Effective dose as a population average; `None` without a kerma-area product.
    #[must_use]
    pub fn effective_dose(&self, configured: &DoseConfigured) -> Option<Result<EffectiveDose, EstimateError>> {
        let parts = self.entrances(configured);
        let sets = DoseCoefficients::built_in();
        (!parts.is_empty()).then(|| sets.effective_dose(&configured.coefficients, &parts, &configured.confirmed()))
    }
}
