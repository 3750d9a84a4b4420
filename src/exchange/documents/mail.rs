//! An order as an e-mail that waits to be sent (RFC 5322): mail programs open it as a draft.

use super::order_text;
use crate::domain::order::OrderDocument;
use mail_builder::MessageBuilder;
use mail_builder::headers::address::Address;
use mail_builder::headers::content_type::ContentType;
use mail_builder::headers::date::Date;
use mail_builder::headers::raw::Raw;
use mail_builder::mime::{BodyPart, MimePart};
use sha2::{Digest, Sha256};
use std::io;

/// The order as an e-mail with its page attached under `file`. The same order and page make the same bytes.
///
/// # Errors
/// What the writer says; writing into memory does not fail.
pub fn order_mail(order: &OrderDocument, file: &str, pdf: &[u8]) -> io::Result<Vec<u8>> {
    let text = format!(
        "{}\n\n{}\n\n{}",
        word!("Hello,"),
        word!("please deliver what is listed below. The same order is attached as a PDF."),
        order_text(order)
    )
    .replace('\n', "\r\n");
    // The library would make both from the clock and the name of this machine, which are nobody's business.
    let mut mark = Sha256::new();
    mark.update(text.as_bytes());
    mark.update(pdf);
    let mark: String = mark.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    let mut message = MessageBuilder::new();
    // Without a sender the mail program puts in its own.
    if let Some(from) = &order.contact.email {
        message = message.from(Address::new_address(Some(order.buyer.name.as_str()), from.as_str()));
    }
    if let Some(to) = &order.email {
        message = message.to(Address::new_address(Some(order.seller.name.as_str()), to.as_str()));
    }
    let noon = order.date.and_hms_opt(12, 0, 0).unwrap_or_default().and_utc().timestamp();
    let message = message
        .subject(say!("Order {name} from {buyer}", name = order.name, buyer = order.buyer.name))
        .date(Date::new(noon))
        .message_id(format!("{mark}@order.invalid"))
        .header("X-Unsent", Raw::new("1"))
        .body(MimePart::new(
            ContentType::new("multipart/mixed").attribute("boundary", format!("order-{mark}")),
            vec![
                MimePart::new("text/plain", BodyPart::Text(text.into())),
                MimePart::new("application/pdf", BodyPart::Binary(pdf.into())).attachment(file),
            ],
        ));
    message.write_to_vec()
}
