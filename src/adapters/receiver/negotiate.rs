//! Negotiating an association (PS3.8, 7.1 and 9.3): who may, and which contexts.

use super::wire::PDU_MAX;
use crate::settings::{Peer, ReceiveSettings};
use dicom_dictionary_std::uids;
use dicom_ul::pdu::{
    AssociationAC, AssociationRJ, AssociationRJResult, AssociationRJServiceProviderASCEReason,
    AssociationRJServiceUserReason, AssociationRJSource, AssociationRQ, PresentationContextProposed,
    PresentationContextResult, PresentationContextResultReason, UserVariableItem,
};
use std::collections::BTreeMap;
use std::net::IpAddr;

/// Source: PS3.7 Annex A.
const APPLICATION_CONTEXT: &str = "1.2.840.10008.3.1.1.1";
/// This program among implementations: a UID derived from a random UUID (PS3.5, B.2).
pub(super) const IMPLEMENTATION: &str = "2.25.209457614286372098713482660117395062413";

/// What may be sent, beside the echo: dose reports, XA, RF, and secondary capture.
const STORED: [&str; 11] = [
    uids::X_RAY_RADIATION_DOSE_SR_STORAGE,
    uids::ENHANCED_X_RAY_RADIATION_DOSE_SR_STORAGE,
    uids::X_RAY_ANGIOGRAPHIC_IMAGE_STORAGE,
    uids::ENHANCED_XA_IMAGE_STORAGE,
    uids::X_RAY_RADIOFLUOROSCOPIC_IMAGE_STORAGE,
    uids::ENHANCED_XRF_IMAGE_STORAGE,
    uids::SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_SINGLE_BIT_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_GRAYSCALE_BYTE_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_GRAYSCALE_WORD_SECONDARY_CAPTURE_IMAGE_STORAGE,
    uids::MULTI_FRAME_TRUE_COLOR_SECONDARY_CAPTURE_IMAGE_STORAGE,
];

/// Encodings in the order they are wanted: uncompressed first, since anything reads them.
const SYNTAXES: [&str; 8] = [
    uids::EXPLICIT_VR_LITTLE_ENDIAN,
    uids::IMPLICIT_VR_LITTLE_ENDIAN,
    uids::DEFLATED_EXPLICIT_VR_LITTLE_ENDIAN,
    uids::JPEG_BASELINE8_BIT,
    uids::JPEG_LOSSLESS,
    uids::JPEG_LOSSLESS_SV1,
    uids::JPEG2000_LOSSLESS,
    uids::RLE_LOSSLESS,
];

/// Sets of contexts beyond this are refused; the standard's odd numbers of one byte allow no more.
const CONTEXTS_MAX: usize = 128;

/// What a context was agreed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Context {
    pub class: String,
    pub syntax: String,
}

/// An association that may be.
#[derive(Debug)]
pub struct Agreed {
    pub answer: AssociationAC,
    pub contexts: BTreeMap<u8, Context>,
    /// The longest PDU the sender takes; 0 for any.
    pub sender_pdu_max: u32,
}

/// Judges a request for an association.
///
/// # Errors
/// The rejection to answer with, which names the reason.
pub fn negotiate(request: &AssociationRQ, settings: &ReceiveSettings, from: IpAddr) -> Result<Agreed, AssociationRJ> {
    use AssociationRJServiceUserReason as Reason;
    let user = |reason| Err(rejected(AssociationRJSource::ServiceUser(reason)));
    if request.protocol_version & 1 == 0 {
        let reason = AssociationRJServiceProviderASCEReason::ProtocolVersionNotSupported;
        return Err(rejected(AssociationRJSource::ServiceProviderASCE(reason)));
    }
    if trimmed(&request.application_context_name) != APPLICATION_CONTEXT {
        return user(Reason::ApplicationContextNameNotSupported);
    }
    if trimmed(&request.called_ae_title) != settings.ae_title {
        return user(Reason::CalledAETitleNotRecognized);
    }
    if !known(&settings.peers, trimmed(&request.calling_ae_title), from) {
        return user(Reason::CallingAETitleNotRecognized);
    }
    let mut contexts = BTreeMap::new();
    let mut results = Vec::new();
    for proposed in request.presentation_contexts.iter().take(CONTEXTS_MAX) {
        let (result, context) = judge(proposed, contexts.contains_key(&proposed.id));
        if let Some(context) = context {
            contexts.insert(proposed.id, context);
        }
        results.push(result);
    }
    let sender_pdu_max = request.user_variables.iter().find_map(|item| match item {
        UserVariableItem::MaxLength(length) => Some(*length),
        _ => None,
    });
    let answer = AssociationAC {
        protocol_version: 1,
        calling_ae_title: request.calling_ae_title.clone(),
        called_ae_title: request.called_ae_title.clone(),
        application_context_name: APPLICATION_CONTEXT.to_owned(),
        presentation_contexts: results,
        user_variables: vec![
            UserVariableItem::MaxLength(PDU_MAX),
            UserVariableItem::ImplementationClassUID(IMPLEMENTATION.to_owned()),
            UserVariableItem::ImplementationVersionName("BRIMLINE_1".to_owned()),
        ],
    };
    Ok(Agreed { answer, contexts, sender_pdu_max: sender_pdu_max.unwrap_or(0) })
}

fn rejected(source: AssociationRJSource) -> AssociationRJ {
    AssociationRJ { result: AssociationRJResult::Permanent, source }
}

/// Values are padded to an even length.
fn trimmed(text: &str) -> &str {
    text.trim_matches([' ', '\0'])
}

fn known(peers: &[Peer], title: &str, from: IpAddr) -> bool {
    let from = from.to_canonical();
    peers.iter().any(|peer| peer.ae_title == title && peer.address.is_none_or(|address| address.to_canonical() == from))
}

fn judge(proposed: &PresentationContextProposed, taken: bool) -> (PresentationContextResult, Option<Context>) {
    let class = trimmed(&proposed.abstract_syntax);
    let result = |reason, syntax: &str| PresentationContextResult {
        id: proposed.id,
        reason,
        transfer_syntax: syntax.to_owned(),
    };
    let refused = |reason| (result(reason, uids::IMPLICIT_VR_LITTLE_ENDIAN), None);
    if proposed.id.is_multiple_of(2) || taken {
        return refused(PresentationContextResultReason::NoReason);
    }
    if class != uids::VERIFICATION && !STORED.contains(&class) {
        return refused(PresentationContextResultReason::AbstractSyntaxNotSupported);
    }
    let offered = |wanted: &&&str| proposed.transfer_syntaxes.iter().any(|syntax| trimmed(syntax) == **wanted);
    match SYNTAXES.iter().find(offered) {
        Some(syntax) => {
            let context = Context { class: class.to_owned(), syntax: (*syntax).to_owned() };
            (result(PresentationContextResultReason::Acceptance, syntax), Some(context))
        }
        None => refused(PresentationContextResultReason::TransferSyntaxesNotSupported),
    }
}
