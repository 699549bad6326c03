//! What an expression is made of, and what it looks at.

use std::collections::BTreeSet;

use cel::common::ast::{Expr, IdedExpr};

use super::lenient::way;

/// Whether an expression looks at the plan by its sections only, like `plan.steps`; which they are.
pub fn names_sections<'e>(expression: &'e IdedExpr, sections: &mut BTreeSet<&'e str>) -> bool {
    match &expression.expr {
        Expr::Select(select) if matches!(&select.operand.expr, Expr::Ident(name) if name == "plan") => {
            sections.insert(&select.field);
            true
        }
        Expr::Ident(name) => name != "plan",
        Expr::Map(_) | Expr::Struct(_) => false,
        _ => parts(expression).into_iter().all(|part| names_sections(part, sections)),
    }
}

/// The expressions that one is made of.
fn parts(expression: &IdedExpr) -> Vec<&IdedExpr> {
    match &expression.expr {
        Expr::Select(select) => vec![&select.operand],
        Expr::Call(call) => call.target.as_deref().into_iter().chain(&call.args).collect(),
        Expr::List(list) => list.elements.iter().collect(),
        Expr::Comprehension(over) => {
            vec![&over.iter_range, &over.accu_init, &over.loop_cond, &over.loop_step, &over.result]
        }
        _ => Vec::new(),
    }
}

/// Tells of every way from a name down to a key: `wire.ends.to.kind`, and nothing of what is computed.
pub fn selects(expression: &IdedExpr, tell: &mut dyn FnMut(&str)) {
    match way(expression).filter(|_| matches!(expression.expr, Expr::Select(_))) {
        Some(way) => tell(&way),
        None => parts(expression).into_iter().for_each(|part| selects(part, tell)),
    }
}

/// How deep loops stand within one another.
pub fn loops(expression: &IdedExpr) -> usize {
    let deepest = |parts: &[&IdedExpr]| parts.iter().map(|part| loops(part)).max().unwrap_or(0);
    match &expression.expr {
        Expr::Comprehension(each) => {
            let own = 1 + deepest(&[&each.loop_cond, &each.loop_step, &each.result, &each.accu_init]);
            own.max(loops(&each.iter_range))
        }
        _ => deepest(&parts(expression)),
    }
}

/// Whether a name is called somewhere as a function.
pub fn is_called(expression: &IdedExpr, name: &str) -> bool {
    matches!(&expression.expr, Expr::Call(call) if call.func_name == name)
        || parts(expression).into_iter().any(|part| is_called(part, name))
}
