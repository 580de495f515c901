//! What a pocket calculator makes of a line of numbers: sums, products, powers, roots and exponentials.

/// The value of a line such as `12 x exp(-(0.5 + 2)) / 0.15`; nothing if it is no arithmetic.
pub fn value(line: &str) -> Option<f64> {
    let mut calculator = Calculator { left: line };
    let sum = calculator.sum()?;
    calculator.left.is_empty().then_some(sum).filter(|sum| sum.is_finite())
}

struct Calculator<'t> {
    left: &'t str,
}

impl Calculator<'_> {
    fn take(&mut self, sign: &str) -> bool {
        self.left = self.left.trim_start();
        let rest = self.left.strip_prefix(sign);
        self.left = rest.unwrap_or(self.left).trim_start();
        rest.is_some()
    }

    fn sum(&mut self) -> Option<f64> {
        let mut sum = self.product()?;
        loop {
            if self.take("+") {
                sum += self.product()?;
            } else if self.take("-") {
                sum -= self.product()?;
            } else {
                return Some(sum);
            }
        }
    }

    fn product(&mut self) -> Option<f64> {
        let mut product = self.power()?;
        loop {
            if self.take("x ") {
                product *= self.power()?;
            } else if self.take("/") {
                product /= self.power()?;
            } else {
                return Some(product);
            }
        }
    }

    fn power(&mut self) -> Option<f64> {
        if self.take("-") {
            return Some(-self.power()?);
        }
        let base = self.value()?;
        if self.take("²") {
            return Some(base * base);
        }
        Some(if self.take("^") { base.powf(self.power()?) } else { base })
    }

    fn value(&mut self) -> Option<f64> {
        for (name, of) in [("sqrt(", f64::sqrt as fn(f64) -> f64), ("exp(", f64::exp), ("(", |it| it)] {
            if self.take(name) {
                let inner = self.sum()?;
                return self.take(")").then(|| of(inner));
            }
        }
        if self.take("π") {
            return Some(std::f64::consts::PI);
        }
        let end = self.left.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(self.left.len());
        let number = self.left[..end].parse().ok()?;
        self.left = self.left[end..].trim_start();
        Some(number)
    }
}

#[cfg(test)]
mod tests {
    use super::value;

    #[test]
    fn signs_bind_as_everywhere() {
        for (line, is) in [
            ("1 + 2 x 3 - 4 / 8", Some(6.5)),
            ("2 x 3^2", Some(18.0)),
            ("0.5² x 4", Some(1.0)),
            ("sqrt(16) - (-1.5)", Some(5.5)),
            ("exp(-(0)) x π / π", Some(1.0)),
            ("2^(-1)", Some(0.5)),
            ("1 / 0", None),
            ("1 +", None),
            ("(1", None),
            ("1 2", None),
            ("", None),
        ] {
            assert_eq!(value(line), is, "{line}");
        }
    }
}
