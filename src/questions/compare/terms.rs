//! What an offer costs, in one currency.

use super::need::OpenTerm;
use super::question::Question;
use super::record::PairOption;
use crate::files::spec::Purchase;
use crate::numeric::calendar::Day;
use crate::pair::{Offer, StatedByMaker};
use crate::physics::test_limits::{LEAST_TEST_VOLT, USUAL_TEST_VOLT, least_insulation_ohm};

/// The currency in which prices are compared: that of the purchase, or the only one stated.
pub(super) fn common_currency(offers: &[&Offer], purchase: Option<&Purchase>) -> Option<String> {
    if let Some(purchase) = purchase {
        return Some(purchase.currency.clone());
    }
    let mut stated = offers.iter().filter_map(|offer| offer.currency.as_ref());
    let first = stated.next()?;
    stated.all(|other| other == first).then(|| first.clone())
}

/// Price, carriage and tax as far as stated, in the currency of the comparison.
pub(super) fn cost(offer: &Offer, currency: Option<&str>, purchase: Option<&Purchase>) -> Option<f64> {
    // A price of zero is a line that was not filled in.
    let amount = offer.amount.filter(|amount| *amount > 0.0)?;
    let own = (amount + offer.carriage.unwrap_or(0.0)) * (1.0 + offer.tax_fraction.unwrap_or(0.0));
    let stated = offer.currency.as_deref()?;
    let rate = match purchase {
        Some(purchase) => purchase.rate(stated)?,
        None => (Some(stated) == currency).then_some(1.0)?,
    };
    Some(own * rate)
}

/// The terms that the cost of an option lacks.
pub(super) fn open(option: &PairOption) -> Vec<OpenTerm> {
    let currency = match &option.currency {
        None => Some(OpenTerm::Currency),
        Some(currency) if option.price.is_some() && option.cost.is_none() => {
            Some(OpenTerm::Rate { currency: currency.clone() })
        }
        Some(_) => None,
    };
    let terms = [
        option.price.is_none_or(|price| price == 0.0).then_some(OpenTerm::Price),
        currency,
        option.carriage.is_none().then_some(OpenTerm::Carriage),
        option.tax_fraction.is_none().then_some(OpenTerm::Tax),
    ];
    terms.into_iter().flatten().collect()
}

/// Questions about what a maker must declare of a pair that is to be bought, as far as it is left blank or below what is usual.
pub(super) fn declared(stated: &StatedByMaker) -> Vec<Question> {
    let StatedByMaker {
        largest_field_tesla: field,
        largest_field_current_ampere: current,
        insulation_test_voltage_volt: volt,
        insulation_resistance_ohm: ohm,
        ref standards,
        ..
    } = *stated;
    let weak = volt.is_some_and(|volt| volt < LEAST_TEST_VOLT)
        || ohm.is_some_and(|ohm| ohm < least_insulation_ohm(volt.unwrap_or(USUAL_TEST_VOLT)));
    let insulation = match (volt, ohm) {
        _ if weak => Some(Question::WeakInsulation { stated_volt: volt, stated_ohm: ohm }),
        (Some(_), Some(_)) => None,
        _ => Some(Question::Insulation),
    };
    let no_standards = standards.as_ref().is_none_or(|text| text.trim().is_empty());
    [
        (field.is_none() && current.is_none()).then_some(Question::LargestField),
        insulation,
        no_standards.then_some(Question::Standards),
        (stated.terminals.is_none() || stated.held_by.is_none()).then_some(Question::Making),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Questions about the terms. Delivery, warranty and validity are asked for only if the buyer states the terms of the purchase;
/// an offer has ended if its last day lies before the date that the user gave.
pub(super) fn questions(offer: &Offer, purchase: Option<&Purchase>, date: Option<Day>) -> Vec<Question> {
    let last_day = offer.valid_until;
    let asked = [
        (Question::Price, offer.amount.is_none_or(|amount| amount == 0.0)),
        (Question::Currency, offer.amount.is_some() && offer.currency.is_none()),
        (Question::Carriage, purchase.is_some() && offer.carriage.is_none()),
        (Question::Tax, purchase.is_some() && offer.tax_fraction.is_none()),
        (Question::Delivery, purchase.is_some() && offer.delivery_days.is_none()),
        (Question::Warranty, purchase.is_some() && offer.warranty_days.is_none()),
        (Question::Validity, purchase.is_some() && last_day.is_none()),
    ];
    let ended = last_day
        .filter(|last| date.is_some_and(|date| date > *last))
        .map(|valid_until| Question::Ended { valid_until });
    asked.into_iter().filter(|(_, open)| *open).map(|(question, _)| question).chain(ended).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn offer(amount: f64, currency: &str) -> Offer {
        Offer { amount: Some(amount), currency: Some(currency.into()), ..Offer::default() }
    }

    #[test]
    fn carriage_and_tax_come_on_top_and_a_rate_turns_them_over() {
        let purchase = Purchase {
            currency: "EUR".into(),
            rates: vec![("USD".into(), 0.9)],
            budget: None,
            delivery_days: None,
        };
        let full = Offer { carriage: Some(20.0), tax_fraction: Some(0.19), ..offer(300.0, "USD") };
        let cost = |offer: &Offer| super::cost(offer, Some("EUR"), Some(&purchase));
        // (300 + 20) × 1.19 × 0.9, by hand.
        assert!((cost(&full).unwrap() - 342.72).abs() < 1e-9);
        assert_eq!(cost(&offer(300.0, "EUR")), Some(300.0));
        assert_eq!(cost(&offer(300.0, "CHF")), None);
    }

    #[test]
    fn an_offer_is_asked_about_when_it_has_ended_and_not_on_its_last_day() {
        let valid_until = Day::new(2027, 3, 31).unwrap();
        let offer = Offer { valid_until: Some(valid_until), ..offer(1.0, "EUR") };
        let asked = |date: Option<Day>| questions(&offer, None, date);
        assert_eq!(asked(None), []);
        assert_eq!(asked(Some(valid_until)), []);
        assert_eq!(asked(valid_until.days_later(1)), [Question::Ended { valid_until }]);
    }

    #[test]
    fn without_a_purchase_only_one_currency_can_be_compared() {
        let (euro, dollar) = (offer(1.0, "EUR"), offer(1.0, "USD"));
        assert_eq!(common_currency(&[&euro, &euro], None).as_deref(), Some("EUR"));
        assert_eq!(common_currency(&[&euro, &dollar], None), None);
        assert_eq!(cost(&dollar, None, None), None);
        assert_eq!(cost(&euro, Some("EUR"), None), Some(1.0));
    }

    #[test]
    fn what_must_be_declared_is_asked_for_where_it_is_blank_or_weak() {
        let full = StatedByMaker {
            largest_field_tesla: Some(2e-3),
            largest_field_current_ampere: Some(2.0),
            insulation_test_voltage_volt: Some(500.0),
            insulation_resistance_ohm: Some(100e6),
            standards: Some("IEC 60317-20".into()),
            terminals: Some("4 mm sockets".into()),
            held_by: Some("spacer tubes".into()),
            ..StatedByMaker::default()
        };
        assert_eq!(declared(&full), []);
        assert_eq!(
            declared(&StatedByMaker::default()),
            [Question::LargestField, Question::Insulation, Question::Standards, Question::Making]
        );
        let weak = |volt, ohm| {
            let stated = StatedByMaker {
                insulation_test_voltage_volt: Some(volt),
                insulation_resistance_ohm: Some(ohm),
                ..full.clone()
            };
            matches!(declared(&stated)[..], [Question::WeakInsulation { .. }])
        };
        assert!(weak(50.0, 1e3) && weak(500.0, 0.9e6) && weak(50.0, 100e6));
        assert_eq!(questions(&offer(0.0, "EUR"), None, None), [Question::Price]);
        assert_eq!(super::cost(&offer(0.0, "EUR"), Some("EUR"), None), None);
    }
}
