//! The script language, fenced in: limits on everything a script could use
//! up, no clock, no chance, no file but modules inside the project folder.

use std::path::{Component, Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage,
    BasicMathPackage, BasicStringPackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{Engine, EvalAltResult, Module, ModuleResolver, Position, Scope};

use super::{Shared, api};
use crate::diagnostic::{Diagnostic, Diagnostics, Place, suggest};
use crate::setup::files;

/// Script operations allowed in one scenario; a plan needs some hundreds.
const OPERATIONS: u64 = 2_000_000;

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Compiles and runs a script.
pub(super) fn run(text: &str, session: &Shared) -> Result<(), Diagnostics> {
    let mut engine = fenced();
    let known = api::register(&mut engine, session);
    engine.set_module_resolver(Modules { session: session.clone() });
    let prints = session.clone();
    engine.on_print(move |line| prints.borrow_mut().outcome.prints.push(line.to_string()));
    let prints = session.clone();
    engine.on_debug(move |line, _, _| prints.borrow_mut().outcome.prints.push(line.to_string()));

    let file = session.borrow().script.display().to_string();
    let ast = engine.compile(text).map_err(|error| {
        let message = error.err_type().to_string();
        Diagnostics::from(Diagnostic::error(message).at(place(&file, text, error.position())))
    })?;
    let done = engine.run_ast_with_scope(&mut Scope::new(), &ast);
    // functions hold the session: let go of them before the caller takes it back
    drop(engine);
    done.map_err(|error| explain(&error, &file, text, session, &known))
}

/// An engine with nothing but arithmetic, text, lists and maps.
fn fenced() -> Engine {
    let mut engine = Engine::new_raw();
    ArithmeticPackage::new().register_into_engine(&mut engine);
    LogicPackage::new().register_into_engine(&mut engine);
    BasicMathPackage::new().register_into_engine(&mut engine);
    BasicIteratorPackage::new().register_into_engine(&mut engine);
    BasicArrayPackage::new().register_into_engine(&mut engine);
    BasicMapPackage::new().register_into_engine(&mut engine);
    BasicStringPackage::new().register_into_engine(&mut engine);
    MoreStringPackage::new().register_into_engine(&mut engine);
    BasicFnPackage::new().register_into_engine(&mut engine);
    engine.disable_symbol("eval");
    engine.set_strict_variables(true);
    engine.set_fail_on_invalid_map_property(true);
    engine.set_max_operations(OPERATIONS);
    engine.set_max_call_levels(24);
    engine.set_max_expr_depths(96, 48);
    engine.set_max_string_size(64 * 1024);
    engine.set_max_array_size(10_000);
    engine.set_max_map_size(1000);
    engine.set_max_variables(1000);
    engine.set_max_functions(200);
    engine.set_max_modules(20);
    // 7 / 2 = 3 is right for counting and wrong for everything here
    engine.set_fast_operators(false);
    engine.register_fn("/", |a: i64, b: i64| -> Fallible<i64> {
        match (b, a.checked_rem(b)) {
            (0, _) => Err(format!("{a} / 0: division by zero").into()),
            (_, Some(0)) => Ok(a / b),
            _ => {
                Err(format!("{a} / {b} divides whole numbers and would lose the rest: write {a}.0 / {b}")
                    .into())
            }
        }
    });
    engine
}

/// Modules are scripts inside the project folder.
struct Modules {
    session: Shared,
}

impl ModuleResolver for Modules {
    fn resolve(
        &self,
        engine: &Engine,
        source: Option<&str>,
        path: &str,
        pos: Position,
    ) -> Fallible<Rc<Module>> {
        let refuse = |why: &str| -> Box<EvalAltResult> {
            let inner: Box<EvalAltResult> = why.into();
            Box::new(EvalAltResult::ErrorInModule(path.into(), inner, pos))
        };
        let plain = Path::new(path).components().all(|c| matches!(c, Component::Normal(_)));
        if !plain {
            return Err(refuse(
                "only modules inside the project folder can be imported, named relative to the script",
            ));
        }
        let (root, script) = {
            let session = self.session.borrow();
            (session.root.clone(), session.script.clone())
        };
        let from = source.map_or(script, PathBuf::from);
        let folder = from.parent().unwrap_or(Path::new("."));
        let file = folder.join(path).with_extension("rhai");
        files::inside(&root, &file)
            .map_err(|()| refuse("only modules inside the project folder can be imported"))?;
        let text = files::read(&file).map_err(|e| refuse(&e.to_string()))?;
        self.session.borrow_mut().note_input(&file, text.as_bytes());
        let mut ast = engine.compile(&text).map_err(|e| refuse(&e.to_string()))?;
        ast.set_source(file.display().to_string());
        let module = Module::eval_ast_as_new(Scope::new(), &ast, engine)
            .map_err(|e| Box::new(EvalAltResult::ErrorInModule(path.into(), e, pos)))?;
        Ok(Rc::new(module))
    }
}

fn place(file: &str, text: &str, position: Position) -> Place {
    match (position.line(), position.position()) {
        (Some(line), column) => Place::at(file, line, column.unwrap_or(1), Arc::from(text)),
        (None, _) => Place { file: file.into(), ..Place::default() },
    }
}

/// Turns a script error into a message with the place where it arose.
fn explain(error: &EvalAltResult, file: &str, text: &str, session: &Shared, known: &[String]) -> Diagnostics {
    // the innermost error is the cause; those around it are the way there
    let mut cause = error;
    let mut position = error.position();
    while let EvalAltResult::ErrorInFunctionCall(_, _, inner, _) | EvalAltResult::ErrorInModule(_, inner, _) =
        cause
    {
        cause = inner;
        if !cause.position().is_none() {
            position = cause.position();
        }
    }
    let at = place(file, text, position);
    if let Some(mut told) = session.borrow_mut().pending.take() {
        for diagnostic in &mut told.0 {
            if diagnostic.place.is_none() {
                diagnostic.place = Some(Box::new(at.clone()));
            }
        }
        return told;
    }
    let diagnostic = match cause {
        EvalAltResult::ErrorFunctionNotFound(signature, _) => {
            let name = signature.split([' ', '(']).next().unwrap_or_default();
            let forms: Vec<&String> = known.iter().filter(|k| k.split('(').next() == Some(name)).collect();
            let told = Diagnostic::error(format!("there is no function {signature}"));
            if forms.is_empty() {
                told.near(suggest(name, known.iter().filter_map(|k| k.split('(').next())))
            } else {
                let forms: Vec<&str> = forms.into_iter().map(String::as_str).collect();
                told.help(format!("there is {}", forms.join(", ")))
            }
        }
        EvalAltResult::ErrorTooManyOperations(_) => Diagnostic::error("the script does not come to an end")
            .help(format!("a scenario may take {OPERATIONS} operations; is there an endless loop?")),
        EvalAltResult::ErrorStackOverflow(_) => Diagnostic::error("functions call each other too deeply")
            .help("is there a recursion without an end?"),
        EvalAltResult::ErrorDataTooLarge(what, _) => {
            Diagnostic::error(format!("{what}: larger than a script may use"))
        }
        EvalAltResult::ErrorRuntime(value, _) => Diagnostic::error(value.to_string()),
        other => {
            let mut plain = other.to_string();
            if let Some(at) = plain.find(" (line ") {
                plain.truncate(at);
            }
            Diagnostic::error(plain)
        }
    };
    diagnostic.at(at).into()
}
