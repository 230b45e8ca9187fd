//! The arithmetic of an estimate: tax for each rate on the total, rounded once, half up.
use super::Money;

/// What is added up: amount and tax rate (hundredths of a percent), and whether it is labour.
#[derive(Debug, Clone, Copy)]
pub struct Billed {
    /// As priced, with or without tax.
    pub amount: Money,
    /// Hundredths of a percent.
    pub tax_rate: i64,
    /// Labour, or parts and materials.
    pub labour: bool,
}

/// The sums under an estimate or invoice.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sums {
    /// Labour before tax (with tax where prices contain it).
    pub labour: Money,
    /// Parts and materials, likewise.
    pub materials: Money,
    /// Before tax.
    pub net: Money,
    /// Tax for each rate, with the rate in hundredths of a percent.
    pub taxes: Vec<(i64, Money)>,
    /// With tax.
    pub total: Money,
}

/// Adds up. Where prices contain tax, the tax is taken out of each rate's total; else it is put on top.
pub fn sums(lines: impl IntoIterator<Item = Billed>, prices_with_tax: bool) -> Sums {
    let mut sums = Sums::default();
    let mut rates: Vec<(i64, Money)> = Vec::new();
    for line in lines {
        *(if line.labour {
            &mut sums.labour
        } else {
            &mut sums.materials
        }) = (if line.labour {
            sums.labour
        } else {
            sums.materials
        }) + line.amount;
        match rates.iter_mut().find(|r| r.0 == line.tax_rate) {
            Some(rate) => rate.1 = rate.1 + line.amount,
            None => rates.push((line.tax_rate, line.amount)),
        }
    }
    rates.sort_by_key(|r| r.0);
    for (rate, amount) in rates {
        let tax = if prices_with_tax {
            amount.tax_in_gross(rate)
        } else {
            amount.tax_on_net(rate)
        };
        sums.net = sums.net
            + if prices_with_tax {
                amount - tax
            } else {
                amount
            };
        sums.total = sums.total
            + if prices_with_tax {
                amount
            } else {
                amount + tax
            };
        sums.taxes.push((rate, tax));
    }
    sums
}

/// `10 %`, `7.5 %`.
pub fn rate_says(rate: i64) -> String {
    let text = format!("{}.{:02}", rate / 100, rate % 100);
    format!("{} %", text.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand: 399.00 of labour and 181.98 of parts and materials at 10 %.
    #[test]
    fn a_worked_invoice() {
        let line = |amount, labour| Billed {
            amount: Money(amount),
            tax_rate: 1000,
            labour,
        };
        let lines = [
            line(3500, true),
            line(36_400, true),
            line(7000, false),
            line(4200, false),
            line(720, false),
            line(420, false),
            line(5058, false),
            line(800, false),
        ];
        let sums = sums(lines, false);
        assert_eq!(
            (sums.labour, sums.materials, sums.net),
            (Money(39_900), Money(18_198), Money(58_098))
        );
        assert_eq!(
            (sums.taxes, sums.total),
            (vec![(1000, Money(5810))], Money(63_908))
        );
    }

    #[test]
    fn tax_inside_the_price_is_taken_out_once_for_each_rate() {
        let lines = [
            Billed {
                amount: Money(333),
                tax_rate: 1000,
                labour: true,
            },
            Billed {
                amount: Money(333),
                tax_rate: 1000,
                labour: false,
            },
            Billed {
                amount: Money(107),
                tax_rate: 700,
                labour: false,
            },
        ];
        let sums = sums(lines, true);
        // 6.66 contains 0.6054…, 1.07 contains 0.07.
        assert_eq!(sums.taxes, [(700, Money(7)), (1000, Money(61))]);
        assert_eq!((sums.net, sums.total), (Money(705), Money(773)));
        assert_eq!(rate_says(750), "7.5 %");
    }
}
