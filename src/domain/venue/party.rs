//! The two sides of an order: where they are, and the numbers by which other programs know them.

use super::gtin::wrong_check_digit;
use std::fmt;

/// Why an address was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", say!("expected at most {what} lines of an address, apart by semicolons", what = Party::MOST_LINES))]
pub struct AddressError;

/// What a document says of one side besides its name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Party {
    /// Lines of the postal address, without the country.
    pub address: Vec<String>,
    /// The country of the address.
    pub country: Option<Country>,
    /// The number under which value added tax is reported.
    pub vat_id: Option<VatId>,
    /// Global Location Number.
    pub gln: Option<Gln>,
    /// Where electronic documents are received.
    pub e_address: Option<EAddress>,
}

impl Party {
    /// The most lines of an address: what an envelope's window shows.
    pub const MOST_LINES: usize = 6;
    /// What sets lines of an address apart where they stand in one text.
    const APART: char = ';';

    /// Reads the lines of an address from one text, in which semicolons set them apart.
    ///
    /// # Errors
    /// [`AddressError`].
    pub fn parse_address(text: &str) -> Result<Vec<String>, AddressError> {
        let lines = text.split(Party::APART).map(str::trim).filter(|line| !line.is_empty());
        let lines: Vec<String> = lines.map(str::to_owned).collect();
        if lines.len() > Party::MOST_LINES { Err(AddressError) } else { Ok(lines) }
    }

    /// The address in one text: what [`Party::parse_address`] reads.
    pub fn plain_address(&self) -> String {
        self.address.join("; ")
    }

    /// The address as it stands on paper, the country's name last.
    pub fn lines(&self) -> Vec<String> {
        let country = self.country.map(|country| country.name().to_owned());
        self.address.iter().cloned().chain(country).collect()
    }
}

/// Whom to ask about an order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Contact {
    /// Their name.
    pub name: Option<String>,
    /// A telephone number, as written.
    pub phone: Option<Phone>,
    /// An e-mail address.
    pub email: Option<String>,
}

impl Contact {
    /// Nobody is named and no way is known.
    pub fn is_empty(&self) -> bool {
        *self == Contact::default()
    }

    /// What is known, name first.
    pub fn parts(&self) -> Vec<String> {
        let phone = self.phone.as_ref().map(Phone::to_string);
        [self.name.clone(), phone, self.email.clone()].into_iter().flatten().collect()
    }
}

/// A country of ISO 3166-1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Country(iso_currency::Country);

/// Why a country was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("unknown country; expected two letters of ISO 3166 such as PT, DE or US"))]
pub struct CountryError;

impl Country {
    /// Those in which paper is cut to US Letter: the list of the Unicode CLDR (supplemental data, paperSize; from memory).
    const LETTER: &[&str] = &["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"];

    /// Reads two letters.
    ///
    /// # Errors
    /// [`CountryError`].
    pub fn parse(text: &str) -> Result<Country, CountryError> {
        let code = text.trim().to_ascii_uppercase();
        if code.len() != 2 || !code.bytes().all(|b| b.is_ascii_uppercase()) {
            return Err(CountryError);
        }
        code.parse().map(Country).map_err(|_| CountryError)
    }

    /// The two letters.
    pub fn code(self) -> String {
        self.0.to_string()
    }

    /// Its English name.
    pub fn name(self) -> &'static str {
        self.0.name()
    }

    /// Whether paper is US Letter there, and not A4.
    pub fn writes_on_letter(self) -> bool {
        Country::LETTER.contains(&self.code().as_str())
    }
}

impl fmt::Display for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.code())
    }
}

/// A Global Location Number: thirteen digits, the last of them a check digit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Gln(String);

/// Why a location number was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GlnError {
    /// Wrong length or no digits.
    #[error("{}", word!("expected a location number (GLN) of 13 digits"))]
    Form,
    /// A digit was misread.
    #[error("{}", say!("the last digit should be {expected}: a digit was misread", expected))]
    CheckDigit {
        /// What the other digits give.
        expected: u32,
    },
}

impl Gln {
    /// Reads the digits and checks the last of them (GS1 General Specifications 7.9).
    ///
    /// # Errors
    /// [`GlnError`].
    pub fn parse(text: &str) -> Result<Gln, GlnError> {
        let text = text.trim();
        if text.len() != 13 || !text.bytes().all(|b| b.is_ascii_digit()) {
            return Err(GlnError::Form);
        }
        match wrong_check_digit(text) {
            None => Ok(Gln(text.to_owned())),
            Some(expected) => Err(GlnError::CheckDigit { expected }),
        }
    }
}

impl fmt::Display for Gln {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A number for value added tax, kept as written. Each country has its own form, so little is checked.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct VatId(String);

/// Why a tax number was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("expected a tax number of 4 to 20 letters and digits such as PT123456789"))]
pub struct VatIdError;

impl VatId {
    /// Reads a number; blanks, dots, dashes and slashes may stand between letters and digits.
    ///
    /// # Errors
    /// [`VatIdError`].
    pub fn parse(text: &str) -> Result<VatId, VatIdError> {
        let text = text.trim();
        let between = |c: char| matches!(c, ' ' | '.' | '-' | '/');
        let counted = text.chars().filter(char::is_ascii_alphanumeric).count();
        let form = text.chars().all(|c| c.is_ascii_alphanumeric() || between(c)) && !text.starts_with(between);
        if form && (4..=20).contains(&counted) && text.len() <= 30 {
            Ok(VatId(text.to_owned()))
        } else {
            Err(VatIdError)
        }
    }

    /// The letters and digits alone, letters in capitals: what two spellings of one number share.
    pub fn key(&self) -> String {
        self.0.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
    }
}

impl fmt::Display for VatId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// An electronic address: a scheme of the list EAS (four digits of ISO/IEC 6523, or `EM` for an e-mail address) and a
/// value in it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct EAddress {
    scheme: String,
    value: String,
}

/// Why an electronic address was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EAddressError {
    /// Not a scheme, a colon and a value.
    #[error("{}", word!("expected an electronic address as scheme:value, such as 0088:9520000000004"))]
    Form,
    /// Scheme 0088 is that of location numbers.
    #[error("{}", say!("after 0088: {what}", what = .0))]
    Gln(GlnError),
}

impl EAddress {
    /// The scheme of location numbers.
    pub const GLN: &'static str = "0088";
    /// The scheme of e-mail addresses.
    const EMAIL: &'static str = "EM";
    const LONGEST: usize = 100;

    /// Reads `0088:9520000000004`.
    ///
    /// # Errors
    /// [`EAddressError`].
    pub fn parse(text: &str) -> Result<EAddress, EAddressError> {
        let (scheme, value) = text.trim().split_once(':').ok_or(EAddressError::Form)?;
        let scheme = scheme.trim().to_ascii_uppercase();
        let value = value.trim();
        let known = scheme == EAddress::EMAIL || (scheme.len() == 4 && scheme.bytes().all(|b| b.is_ascii_digit()));
        let sound =
            !value.is_empty() && value.len() <= EAddress::LONGEST && value.chars().all(|c| c.is_ascii_graphic());
        if !known || !sound || (scheme == EAddress::EMAIL && !value.contains('@')) {
            return Err(EAddressError::Form);
        }
        if scheme == EAddress::GLN {
            Gln::parse(value).map_err(EAddressError::Gln)?;
        }
        Ok(EAddress { scheme, value: value.to_owned() })
    }

    /// The scheme.
    pub fn scheme(&self) -> &str {
        &self.scheme
    }

    /// The value in the scheme.
    pub fn value(&self) -> &str {
        &self.value
    }
}

impl fmt::Display for EAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.scheme, self.value)
    }
}

/// A telephone number, kept as written: a plus where it begins with the country, then digits and what sets them apart.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Phone(String);

/// Why a telephone number was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", word!("expected a telephone number such as +351 292 555 0142"))]
pub struct PhoneError;

impl Phone {
    /// Reads a number.
    ///
    /// # Errors
    /// [`PhoneError`].
    pub fn parse(text: &str) -> Result<Phone, PhoneError> {
        let text = text.trim();
        let digits = text.bytes().filter(u8::is_ascii_digit).count();
        let rest = text.strip_prefix('+').unwrap_or(text);
        let form = rest.chars().all(|c| c.is_ascii_digit() || matches!(c, ' ' | '(' | ')' | '-' | '/' | '.'));
        let begins = rest.starts_with(|c: char| c.is_ascii_digit() || c == '(');
        // The longest number of ITU-T E.164 has 15 digits; an extension may follow.
        if form && begins && (3..=20).contains(&digits) && text.len() <= 40 {
            Ok(Phone(text.to_owned()))
        } else {
            Err(PhoneError)
        }
    }
}

impl fmt::Display for Phone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn location_numbers_have_a_check_digit() {
        // GS1 Sweden's published example of the rule: 730001100001 gives 7.
        assert!(Gln::parse("7300011000017").is_ok());
        assert_eq!(Gln::parse("7300011000018"), Err(GlnError::CheckDigit { expected: 7 }));
        for bad in ["", "730001100001", "73000110000177", "730001100001x"] {
            assert_eq!(Gln::parse(bad), Err(GlnError::Form), "{bad}");
        }
    }

    #[test]
    fn electronic_addresses() {
        for (text, written) in [
            ("0088:7300011000017", "0088:7300011000017"),
            (" 9930 : DE123456789 ", "9930:DE123456789"),
            ("em:orders@example.com", "EM:orders@example.com"),
        ] {
            assert_eq!(EAddress::parse(text).map(|a| a.to_string()).as_deref(), Ok(written));
        }
        for bad in ["", "0088", "88:7300011000017", "0088:", "ABCD:1", "9930:a b", "EM:orders", ":1"] {
            assert_eq!(EAddress::parse(bad), Err(EAddressError::Form), "{bad}");
        }
        let misread = EAddressError::Gln(GlnError::CheckDigit { expected: 7 });
        assert_eq!(EAddress::parse("0088:7300011000010"), Err(misread));
    }

    #[test]
    fn countries() {
        // ISO 3166-1 (from memory; the crate iso_country carries the table).
        for (text, code, name, letter) in [
            ("pt", "PT", "Portugal", false),
            ("DE", "DE", "Germany", false),
            ("US", "US", "United States of America", true),
        ] {
            let country = Country::parse(text).unwrap();
            assert_eq!((country.code().as_str(), country.writes_on_letter()), (code, letter));
            assert!(country.name().starts_with(&name[..6]), "{}", country.name());
        }
        for bad in ["", "P", "PRT", "XX", "ZZ", "UK", "12", "Ä"] {
            assert_eq!(Country::parse(bad), Err(CountryError), "{bad}");
        }
    }

    #[test]
    fn addresses_tax_numbers_and_telephones() {
        let lines = Party::parse_address(" 3 Lantern Stair;; Ostermouth ; ").unwrap();
        assert_eq!(lines, ["3 Lantern Stair", "Ostermouth"]);
        let party = Party { address: lines.clone(), country: Country::parse("PT").ok(), ..Party::default() };
        assert_eq!(Party::parse_address(&party.plain_address()), Ok(lines));
        assert_eq!(party.lines(), ["3 Lantern Stair", "Ostermouth", "Portugal"]);
        assert!(Party::parse_address("a;b;c;d;e;f;g").is_err());
        assert_eq!(VatId::parse("gb 123-4567.89").map(|v| v.key()).as_deref(), Ok("GB123456789"));
        for bad in ["", "12", "=1+1", "-12345", "12345678901234567890123", "DE12345#"] {
            assert_eq!(VatId::parse(bad), Err(VatIdError), "{bad}");
        }
        for good in ["+351 292 555 0142", "(0292) 555-0142", "112"] {
            assert_eq!(Phone::parse(good).map(|p| p.to_string()).as_deref(), Ok(good));
        }
        for bad in ["", "+", "++1 234", "=1234", "-1234", "+A1", "1+1234", "12345678901234567890123"] {
            assert_eq!(Phone::parse(bad), Err(PhoneError), "{bad}");
        }
    }
}
