//! Many records: rows from them, figures, charts as scenes, signals in words, exports.
//!
//! Only a [`VerifiedRecord`](crate::record::VerifiedRecord) becomes a [`Row`]; rows stand in a columnar [`Cache`],
//! and every figure and chart is computed from that. Live cases, rehearsals, stopped and void ones never mix. Dose
//! never pools machines or patient sizes. Gates overridden, checks not done, late and burst entries are counted per
//! step, never per person or team: there is no function that could.
//!
//! What it does not do: no files, no database (both come through [`Index`]), no clock, no colours of a screen, and no
//! judgement of anybody. What may never change: the meaning of a row's bytes under their version.

mod binomial;
mod cache;
mod chart;
mod choices;
mod costs;
mod counts;
mod cusum;
mod dictionary;
mod dose;
mod export;
mod figure;
mod fit;
mod import;
mod index;
mod individuals;
mod learning;
mod limits;
mod month;
mod names;
mod order_interval;
mod parts;
mod quantile;
mod row;
mod row_bytes;
mod row_of;
mod scene;
mod select;
mod share;
mod signal;
mod steps;
mod student;
mod summary;
mod suppress;
mod svg;
mod table;

pub use binomial::binomial;
pub use cache::Cache;
pub use chart::{Asked, Chart, ChartName, draw, draw_case};
pub use choices::Narrow;
pub use costs::{CostBy, CostFigures};
pub use counts::{CountChart, Counted, laney_chart, u_chart};
pub use cusum::{
    SLACK, Shift, Sums, first_shift, likeliest_change, limit_for, run_length_by_chance, self_starting, sums,
};
pub use dictionary::{dictionary, dictionary_text};
pub use export::{Cell, Exported, export_cases, export_summary};
pub use figure::{Figure, INTERVAL_MIN, Middle, PERCENTILE_MIN, Quantity, figure};
pub use fit::{Curve, Fit, fit};
pub use import::{Checked, Refused, check_addendum, check_records, check_records_beside};
pub use index::{Index, IndexError, Merge, Press, Pushed, Stored};
pub use individuals::{Individuals, individuals};
pub use learning::{CASES_MIN, Learning, Within, learning};
pub use limits::{Beyond, D2, D4, Limits, mean_moving_range};
pub use month::{Page, month_report};
pub use names::Code;
pub use order_interval::{LEVEL, Ranks, coverage, ranks};
pub use quantile::{QuantileType, ascending, quantile};
pub use row::{Dose, Month, Row};
pub use row_bytes::RowFault;
pub use scene::{Anchor, Element, Head, Ink, Scene, Weight};
pub use select::{Ending, Filter, Group, Sides, SizeBand, Stream, outcome};
pub use signal::{Signal, signals};
pub use steps::{Care, StepFigures, ViewFigures};
pub use student::t_975;
pub use summary::{Line, Summary, summary};
pub use suppress::{AGE_MAX, CELL_MIN, age, hidden};
pub use svg::svg;
pub use table::{Table, TableCell, number};
