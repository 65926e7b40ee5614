//! The functions of the rule language: their names, arguments and types.

use std::ops::Range;
use std::sync::Arc;

use super::ast::{Argument, Ast, AstKind};
use super::check::{Checked, LEVELS, check, check_as, check_pair, fault, hold_form, type_fault};
use super::eval::Facts;
use super::lexer::ExpressionFault;
use super::typed::{Beyond, Expr, Summary, Type, Typed};
use crate::diag::{join_names, nearest};
use crate::engine::value::{Slot, Value};
use crate::knowledge::names::Names;
use crate::units::{Dimension, Unit};

/// Every function with the line that help prints.
const FUNCTIONS: [(&str, &str); 20] = [
    ("known", "known(x): whether x has a value"),
    ("grade", "grade(x, none = a, severe = b, …): a level, linear between the anchors"),
    ("min", "min(a, b, …): the smallest"),
    ("max", "max(a, b, …): the greatest"),
    ("abs", "abs(x): size without sign"),
    ("clamp", "clamp(x, low, high): x, held between two ends"),
    ("below", "below(x, range): how far x lies below the range"),
    ("above", "above(x, range): how far x lies above the range"),
    ("outside", "outside(x, range): how far x lies outside the range"),
    ("steps", "steps(a, b): a minus b in steps of their scale"),
    ("first", "first(a, b, …): the first that is known"),
    ("count", "count(condition on months): how many months"),
    ("longest", "longest(condition on months): longest run of months, round the year"),
    ("sum", "sum(months) or sum(months, where = condition)"),
    ("mean", "mean(months) or mean(months, where = condition)"),
    ("least", "least(months)"),
    ("greatest", "greatest(months)"),
    ("size", "size(set): how many names"),
    ("overlap", "overlap(a, b): whether two sets or lists share a name"),
    ("lookup", "lookup('table', key, 'column'): a value of a table"),
];

/// Checks a call.
pub fn check_call(name: &str, arguments: &[Argument], span: &Range<usize>, names: &Names<'_>) -> Checked {
    let Some((_, usage)) = FUNCTIONS.iter().find(|(own, _)| *own == name) else {
        let known = || FUNCTIONS.iter().map(|(name, _)| *name);
        let help = match nearest(name, known()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("functions are {}", known().collect::<Vec<_>>().join(", ")),
        };
        let span = span.start..span.start + name.len();
        return Err(fault("unknown-function", &span, format!("no function is called `{name}`")).help(help));
    };
    let call = Call { name, usage, arguments, span, names };
    match name {
        "known" => call.known(),
        "grade" => call.grade(),
        "min" | "max" => call.extreme(name == "max"),
        "abs" => {
            let [inner] = call.positional::<1>()?;
            let typed = check(inner, names)?;
            call.plain_number(&typed, inner)?;
            Ok(Typed { expr: Expr::Abs(Box::new(typed.expr)), ..typed })
        }
        "clamp" => call.clamp(),
        "below" => call.beyond(Beyond::Below),
        "above" => call.beyond(Beyond::Above),
        "outside" => call.beyond(Beyond::Outside),
        "steps" => call.steps(),
        "first" => call.first(),
        "count" | "longest" => call.months_counted(name == "longest"),
        "sum" => call.summary(Summary::Sum),
        "mean" => call.summary(Summary::Mean),
        "least" => call.summary(Summary::Least),
        "greatest" => call.summary(Summary::Greatest),
        "size" => call.size(),
        "overlap" => call.overlap(),
        _ => call.lookup(),
    }
}

struct Call<'a> {
    name: &'a str,
    usage: &'a str,
    arguments: &'a [Argument],
    span: &'a Range<usize>,
    names: &'a Names<'a>,
}

impl Call<'_> {
    fn misuse(&self, message: impl Into<String>) -> ExpressionFault {
        fault("wrong-arguments", self.span, message).help(self.usage)
    }

    fn positional<const N: usize>(&self) -> Result<[&Ast; N], ExpressionFault> {
        if let Some((Some((key, span)), _)) = self.arguments.iter().find(|(key, _)| key.is_some()) {
            let message = format!("`{}` takes no argument called `{key}`", self.name);
            return Err(fault("wrong-arguments", span, message).help(self.usage));
        }
        let arguments: Vec<&Ast> = self.arguments.iter().map(|(_, argument)| argument).collect();
        let count = arguments.len();
        arguments
            .try_into()
            .map_err(|_| self.misuse(format!("`{}` takes {N} arguments, not {count}", self.name)))
    }

    fn plain_number(&self, typed: &Typed, ast: &Ast) -> Result<Dimension, ExpressionFault> {
        match typed.ty {
            Type::Number(dimension) => Ok(dimension),
            other => Err(type_fault("a number", other, &ast.span, self.names)),
        }
    }

    fn slot(&self, ast: &Ast) -> Result<Slot, ExpressionFault> {
        let typed = check(ast, self.names)?;
        match typed.expr {
            Expr::Fact(slot) => Ok(slot),
            _ => {
                Err(fault("wrong-arguments", &ast.span, "`known` takes the name of a fact").help(self.usage))
            }
        }
    }

    fn known(&self) -> Checked {
        let [inner] = self.positional::<1>()?;
        Ok(Typed { expr: Expr::Known(self.slot(inner)?), ty: Type::Flag, unit: None })
    }

    fn grade(&self) -> Checked {
        let Some(((None, number), anchors)) = self.arguments.split_first() else {
            return Err(self.misuse("`grade` takes a number first"));
        };
        let graded = check(number, self.names)?;
        let dimension = self.plain_number(&graded, number)?;
        let mut points = Vec::new();
        for (key, anchor) in anchors {
            let Some((key, key_span)) = key else {
                // `none = 3,5` is an anchor and a number
                let message = "an anchor of `grade` needs the name of a level";
                let help = "write `severe = 0.5`: the level, then its number, with a point before decimals";
                return Err(fault("wrong-arguments", &anchor.span, message).help(help));
            };
            let Some((_, level)) = LEVELS.iter().find(|(name, _)| name == key) else {
                let help = format!("levels are {}", join_names(LEVELS.iter().map(|(name, _)| *name)));
                return Err(
                    fault("unknown-level", key_span, format!("no level is called `{key}`")).help(help)
                );
            };
            let typed = check(anchor, self.names)?;
            let own = self.plain_number(&typed, anchor)?;
            if own != dimension {
                let message = format!("`grade` of {} has an anchor in {}", dimension.name(), own.name());
                return Err(fault("wrong-unit", &anchor.span, message));
            }
            let Some(at) = typed.expr.number(&Nothing) else {
                return Err(fault(
                    "anchor-not-constant",
                    &anchor.span,
                    "an anchor of `grade` must be a constant",
                ));
            };
            points.push((at, *level, anchor.span.clone()));
        }
        if points.len() < 2 {
            return Err(self.misuse("`grade` needs at least two anchors"));
        }
        points.sort_by(|a, b| a.1.total_cmp(&b.1));
        let rising = points[1].0 > points[0].0;
        for pair in points.windows(2) {
            if pair[0].1 == pair[1].1 || pair[0].0 == pair[1].0 || (pair[1].0 > pair[0].0) != rising {
                let message = "the anchors of `grade` must all rise or all fall with the level";
                return Err(fault("anchors-out-of-order", &pair[1].2, message));
            }
        }
        let mut anchors: Vec<(f64, f64)> = points.into_iter().map(|(at, level, _)| (at, level)).collect();
        anchors.sort_by(|a, b| a.0.total_cmp(&b.0));
        let expr = Expr::Grade(Box::new(graded.expr), anchors.into());
        Ok(Typed { expr, ty: Type::Number(Dimension::NONE), unit: None })
    }

    fn extreme(&self, greatest: bool) -> Checked {
        let parts = self.alike()?;
        let unit = parts[0].unit;
        let ty = parts[0].ty;
        if !matches!(ty, Type::Number(_)) {
            return Err(type_fault("a number", ty, &self.arguments[0].1.span, self.names));
        }
        let parts = parts.into_iter().map(|part| part.expr).collect();
        Ok(Typed { expr: Expr::Extreme(greatest, parts), ty, unit })
    }

    fn first(&self) -> Checked {
        let parts = self.alike()?;
        let (ty, unit) = (parts[0].ty, parts[0].unit);
        Ok(Typed { expr: Expr::First(parts.into_iter().map(|part| part.expr).collect()), ty, unit })
    }

    /// At least two arguments of one type.
    fn alike(&self) -> Result<Vec<Typed>, ExpressionFault> {
        if self.arguments.len() < 2 {
            return Err(self.misuse(format!("`{}` takes at least two arguments", self.name)));
        }
        let first = check(&self.arguments[0].1, self.names)?;
        let mut parts = vec![];
        for (key, argument) in &self.arguments[1..] {
            if let Some((key, span)) = key {
                let message = format!("`{}` takes no argument called `{key}`", self.name);
                return Err(fault("wrong-arguments", span, message).help(self.usage));
            }
            parts.push(check_as(argument, first.ty, self.names)?);
        }
        parts.insert(0, first);
        Ok(parts)
    }

    fn clamp(&self) -> Checked {
        let [number, low, high] = self.positional::<3>()?;
        let number = check(number, self.names)?;
        let low = check_as(low, number.ty, self.names)?;
        let high = check_as(high, number.ty, self.names)?;
        let raised = Expr::Extreme(true, vec![number.expr, low.expr]);
        Ok(Typed { expr: Expr::Extreme(false, vec![raised, high.expr]), ..number })
    }

    fn beyond(&self, beyond: Beyond) -> Checked {
        let [number, range] = self.positional::<2>()?;
        let typed = check(number, self.names)?;
        let dimension = self.plain_number(&typed, number)?;
        let range_typed = check_as(range, Type::Range(dimension), self.names)?;
        let dimension = dimension.minus(dimension).unwrap_or(dimension);
        let unit =
            Unit::of_dimension(dimension).filter(|_| Some(dimension) != typed.unit.map(|u| u.dimension));
        Ok(Typed {
            expr: Expr::Beyond(beyond, Box::new(typed.expr), Box::new(range_typed.expr)),
            ty: Type::Number(dimension),
            unit: unit.or(typed.unit),
        })
    }

    fn steps(&self) -> Checked {
        let [left, right] = self.positional::<2>()?;
        let (a, b) = check_pair(left, right, self.names)?;
        match (a.ty, b.ty) {
            (Type::Scale(x), Type::Scale(y)) if x == y => Ok(Typed {
                expr: Expr::Steps(Box::new(a.expr), Box::new(b.expr)),
                ty: Type::Number(Dimension::NONE),
                unit: None,
            }),
            (other, _) => Err(type_fault("two steps of one scale", other, self.span, self.names)),
        }
    }

    fn mask(&self, ast: &Ast) -> Result<Expr, ExpressionFault> {
        let typed = check(ast, self.names)?;
        match typed.ty {
            Type::Mask => Ok(typed.expr),
            other => Err(type_fault("a condition on months", other, &ast.span, self.names)),
        }
    }

    fn months_counted(&self, longest: bool) -> Checked {
        let [mask] = self.positional::<1>()?;
        let mask = Box::new(self.mask(mask)?);
        let expr = if longest { Expr::Longest(mask) } else { Expr::Count(mask) };
        Ok(Typed { expr, ty: Type::Number(Dimension::TIME), unit: Unit::named("month") })
    }

    fn summary(&self, summary: Summary) -> Checked {
        let (months, mask) = match self.arguments {
            [(None, months)] => (months, None),
            [(None, months), (Some((key, _)), mask)] if key == "where" => (months, Some(mask)),
            _ => return Err(self.misuse(format!("`{}` takes months", self.name))),
        };
        let typed = check(months, self.names)?;
        let Type::Months(dimension) = typed.ty else {
            return Err(type_fault("twelve numbers", typed.ty, &months.span, self.names));
        };
        if summary == Summary::Sum && dimension.is_point() {
            return Err(fault("wrong-unit", &months.span, "temperatures do not add up"));
        }
        let mask = mask.map(|mask| self.mask(mask).map(Box::new)).transpose()?;
        Ok(Typed {
            expr: Expr::Summarise(summary, Box::new(typed.expr), mask),
            ty: Type::Number(dimension),
            unit: typed.unit,
        })
    }

    fn size(&self) -> Checked {
        let [set] = self.positional::<1>()?;
        let typed = check(set, self.names)?;
        match typed.ty {
            Type::Set(_) | Type::Texts => Ok(Typed {
                expr: Expr::Size(Box::new(typed.expr)),
                ty: Type::Number(Dimension::NONE),
                unit: None,
            }),
            other => Err(type_fault("a set", other, &set.span, self.names)),
        }
    }

    fn overlap(&self) -> Checked {
        let [left, right] = self.positional::<2>()?;
        let (left, right) = if matches!(left.kind, AstKind::List(_)) { (right, left) } else { (left, right) };
        let typed = check(left, self.names)?;
        if !matches!(typed.ty, Type::Set(_) | Type::Texts) {
            return Err(type_fault("a set", typed.ty, &left.span, self.names));
        }
        hold_form(right, left, self.names)?;
        let other = check_as(right, typed.ty, self.names)?;
        Ok(Typed {
            expr: Expr::Overlap(Box::new(typed.expr), Box::new(other.expr)),
            ty: Type::Flag,
            unit: None,
        })
    }

    fn lookup(&self) -> Checked {
        let [table, key, column] = self.positional::<3>()?;
        let text = |ast: &Ast| match &ast.kind {
            AstKind::Text(text) => Ok(text.clone()),
            _ => Err(fault("wrong-arguments", &ast.span, "this must be a name in quotes").help(self.usage)),
        };
        let table_name = text(table)?;
        let Some(found) = self.names.tables.iter().find(|table| table.id == table_name) else {
            let known = || self.names.tables.iter().map(|table| table.id.as_str());
            let help = nearest(&table_name, known()).map_or_else(
                || format!("tables are {}", join_names(known())),
                |near| format!("did you mean '{near}'?"),
            );
            let message = format!("no table is called '{table_name}'");
            let missing = format!("tables.{table_name}");
            return Err(fault("unknown-table", &table.span, message).help(help).undeclared(missing));
        };
        let column_name = text(column)?;
        let Some(chosen) = found.columns.iter().find(|column| column.name == column_name) else {
            let known = join_names(found.columns.iter().map(|column| column.name.as_str()));
            let message = format!("table '{table_name}' has no column '{column_name}'");
            return Err(fault("unknown-column", &column.span, message).help(format!("columns are {known}")));
        };
        let key_type = Type::of(found.key_kind);
        let key = check_as(key, key_type, self.names)?;
        Ok(Typed {
            expr: Expr::Lookup(Box::new(key.expr), Arc::clone(&chosen.values)),
            ty: Type::of(chosen.kind),
            unit: chosen.kind.unit(),
        })
    }
}

/// No facts at all, to evaluate constants.
struct Nothing;

impl Facts for Nothing {
    fn get(&self, _: Slot) -> Option<&Value> {
        None
    }
}
