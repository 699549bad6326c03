//! Expressions as they are worked on plans: what an item of a list does not state is not what is asked of it.

use cel::common::ast::{CallExpr, Expr, IdedExpr, LiteralValue, SelectExpr, operators};

/// What decides between true and false: the parts of these are asked one by one.
const CONNECTIVES: [&str; 5] = [
    operators::LOGICAL_AND,
    operators::LOGICAL_OR,
    operators::LOGICAL_NOT,
    operators::CONDITIONAL,
    operators::NOT_STRICTLY_FALSE,
];
/// What asks something of values.
const QUESTIONS: [&str; 10] = [
    operators::EQUALS,
    operators::NOT_EQUALS,
    operators::LESS,
    operators::LESS_EQUALS,
    operators::GREATER,
    operators::GREATER_EQUALS,
    operators::IN,
    "contains",
    "startsWith",
    "endsWith",
];

/// An expression in which a question about an item of a list is answered with no where the item does not state what it is
/// about: of steps one looks for those that test something, and most test nothing.
pub fn lenient(expression: &IdedExpr, items: &mut Vec<String>) -> IdedExpr {
    let id = expression.id;
    let with = |expr| IdedExpr { id, expr };
    match &expression.expr {
        Expr::Comprehension(over) => {
            let mut over = over.clone();
            over.iter_range = lenient(&over.iter_range, items);
            items.push(over.iter_var.clone());
            for part in [&mut over.loop_cond, &mut over.loop_step, &mut over.result] {
                *part = lenient(part, items);
            }
            items.pop();
            with(Expr::Comprehension(over))
        }
        Expr::Call(call) if QUESTIONS.contains(&call.func_name.as_str()) => {
            let asked = with(Expr::Call(each_part(call, items)));
            // What is not stated is something else than any word.
            guarded(asked, items, call.func_name == operators::NOT_EQUALS)
        }
        Expr::Call(call) if CONNECTIVES.contains(&call.func_name.as_str()) => {
            let mut call = each_part(call, items);
            let bare = if call.func_name == operators::CONDITIONAL { 1 } else { call.args.len() };
            for part in
                call.args.iter_mut().take(bare).filter(|part| matches!(&part.expr, Expr::Select(is) if !is.test))
            {
                *part = guarded(part.clone(), items, false);
            }
            with(Expr::Call(call))
        }
        Expr::Call(call) => with(Expr::Call(each_part(call, items))),
        _ => expression.clone(),
    }
}

fn each_part(call: &CallExpr, items: &mut Vec<String>) -> CallExpr {
    CallExpr {
        func_name: call.func_name.clone(),
        target: call.target.as_deref().map(|target| Box::new(lenient(target, items))),
        args: call.args.iter().map(|part| lenient(part, items)).collect(),
    }
}

/// The question where all is stated that it looks at in items of lists, and this answer where something is not.
fn guarded(asked: IdedExpr, items: &[String], otherwise: bool) -> IdedExpr {
    let mut looked_at = Vec::new();
    of_items(&asked, items, &mut looked_at);
    let id = asked.id;
    let call = |func_name: &str, args| IdedExpr {
        id,
        expr: Expr::Call(CallExpr { func_name: func_name.to_owned(), target: None, args }),
    };
    let stated = looked_at.into_iter().reduce(|one, other| call(operators::LOGICAL_AND, vec![one, other]));
    let Some(stated) = stated else { return asked };
    let no = IdedExpr { id, expr: Expr::Literal(LiteralValue::Boolean(otherwise.into())) };
    call(operators::CONDITIONAL, vec![stated, asked, no])
}

/// For every key that is looked at in an item, from the item on down, whether it is stated.
fn of_items(expression: &IdedExpr, items: &[String], found: &mut Vec<IdedExpr>) {
    match &expression.expr {
        Expr::Select(select) if !select.test => {
            of_items(&select.operand, items, found);
            let root = way(expression).and_then(|way| way.split('.').next().map(str::to_owned));
            if root.is_some_and(|root| items.contains(&root)) {
                let has = SelectExpr { test: true, ..select.clone() };
                found.push(IdedExpr { id: expression.id, expr: Expr::Select(has) });
            }
        }
        Expr::Call(call) => {
            call.target.as_deref().into_iter().chain(&call.args).for_each(|part| of_items(part, items, found));
        }
        Expr::List(list) => list.elements.iter().for_each(|part| of_items(part, items, found)),
        _ => {}
    }
}

/// A way from a name down to a key, or to an item of a list by its number.
pub fn way(expression: &IdedExpr) -> Option<String> {
    match &expression.expr {
        Expr::Ident(name) => Some(name.clone()),
        Expr::Select(select) => Some(format!("{}.{}", way(&select.operand)?, select.field)),
        Expr::Call(call) if call.func_name == operators::INDEX => {
            let [of, Expr::Literal(LiteralValue::Int(at))] = [&call.args.first()?.expr, &call.args.get(1)?.expr] else {
                return None;
            };
            let of = way(&IdedExpr { id: 0, expr: of.clone() })?;
            Some(format!("{of}.{}", at.inner()))
        }
        _ => None,
    }
}
