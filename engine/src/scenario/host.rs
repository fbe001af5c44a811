//! The script language, fenced in: limits on everything a script could use
//! up, no clock, no chance, no file but modules inside the project folder.

use std::path::{Component, Path, PathBuf};
use std::rc::Rc;

use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage,
    BasicMathPackage, BasicStringPackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{AST, Engine, EvalAltResult, Module, ModuleResolver, Position, Scope};

use super::caller::Caller;
use super::point::Performer;
use super::told::{explain, raise, unreadable};
use super::{Shared, api};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::setup::{files, named_here};
use crate::study::Frame;

/// Script operations allowed in one scenario; a plan needs some hundreds.
pub(super) const OPERATIONS: u64 = 2_000_000;
/// What a trial counts as, in operations, beside what it records: no more than 500 in a scenario.
pub(super) const TRIAL: u64 = 4000;
/// Recorded bytes that count as one operation: all trials of a scenario together
/// record no more than 512 MB, and the last of them what a single run may.
pub(super) const RECORDED: u64 = 256;
/// What reading or searching a whole file or run counts as.
pub(super) const READING: u64 = 1000;
/// What an action in the middle of a run counts as.
pub(super) const ACTION: u64 = 200;
/// What a module counts as, which may take as many operations as a script.
const MODULE: u64 = 50_000;
/// Longest chain of modules that import each other.
const CHAIN: usize = 8;
/// Most lines a script may print.
const LINES: usize = 1000;

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Compiles and runs a script.
pub(super) fn run(text: &str, session: &Shared) -> Result<(), Diagnostics> {
    performed(text, session).map(drop)
}

/// Runs a script up to its study, and hands `serve` what makes its rows.
pub(super) fn work(
    text: &str,
    session: &Shared,
    frame: &Frame,
    serve: impl FnOnce(&mut dyn FnMut(u64) -> Vec<u8>),
) -> Result<(), Diagnostics> {
    let (engine, ast) = performed(text, session)?;
    let study = session.borrow_mut().study.take();
    let Some(study) = study else {
        return Err(Diagnostic::error("this time the script did not come to its study").into());
    };
    let file = session.borrow().script.display().to_string();
    let caller = Caller::After(&engine, &ast);
    let mut performer = Performer::new(&study, session, frame, caller)
        .map_err(|error| explain(&error, &file, session, &[]))?;
    serve(&mut |row| performer.row(row));
    Ok(())
}

fn performed(text: &str, session: &Shared) -> Result<(Engine, AST), Diagnostics> {
    let mut engine = fenced();
    let known = Rc::new(api::register(&mut engine, session));
    engine.set_module_resolver(Modules { session: session.clone(), known: known.clone() });
    let prints = session.clone();
    engine.on_print(move |line| print(&prints, line));
    let prints = session.clone();
    engine.on_debug(move |line, _, _| print(&prints, line));

    let file = session.borrow().script.display().to_string();
    let ast = compiled(&engine, &file, text, session)?;
    match engine.run_ast(&ast) {
        Err(error) if !session.borrow().ended => {
            Err(explain(&error, &file, session, &with_own(&known, &ast)))
        }
        _ => Ok((engine, ast)),
    }
}

fn print(session: &Shared, line: &str) {
    let prints = &mut session.borrow_mut().outcome.prints;
    match prints.len() {
        ..LINES => prints.push(line.chars().take(1000).collect()),
        LINES => prints.push(format!("… more than {LINES} lines are not shown")),
        _ => {}
    }
}

/// Compiles a text that knows its file's name.
fn compiled(engine: &Engine, file: &str, text: &str, session: &Shared) -> Result<AST, Diagnostics> {
    session.borrow_mut().texts.insert(file.into(), text.into());
    let mut ast = engine.compile(text).map_err(|error| {
        let place = session.borrow().place(file, error.position());
        Diagnostics::from(unreadable(&error, text).at(place))
    })?;
    ast.set_source(file);
    Ok(ast)
}

/// The functions there are, with those that a script defines itself.
fn with_own(known: &[String], ast: &AST) -> Vec<String> {
    let own = ast.iter_functions().map(|f| format!("{}({})", f.name, f.params.join(", ")));
    known.iter().cloned().chain(own).collect()
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
    known: Rc<Vec<String>>,
}

impl Modules {
    fn load(&self, engine: &Engine, source: Option<&str>, path: &str) -> Result<Module, Diagnostics> {
        let plain =
            !path.is_empty() && Path::new(path).components().all(|c| matches!(c, Component::Normal(_)));
        let (root, script) = {
            let session = self.session.borrow();
            (session.root.clone(), session.script.clone())
        };
        let from = source.map_or(script, PathBuf::from);
        let file = from.parent().unwrap_or(Path::new("")).join(path).with_extension("rhai");
        if !plain || files::inside(&root, &file).is_err() {
            let error = Diagnostic::error("only modules inside the project folder can be imported");
            return Err(error.help("name it relative to the script, without `..`").into());
        }
        let name = file.display().to_string();
        {
            let session = self.session.borrow();
            let script = session.script.display().to_string();
            let mut ring: Vec<&str> =
                std::iter::once(&script).chain(&session.importing).map(|n| &**n).collect();
            if ring.contains(&name.as_str()) || ring.len() > CHAIN {
                ring.push(&name);
                let error = format!("the modules import each other: {}", ring.join(" → "));
                return Err(Diagnostic::error(error).help("one of them must stand on its own").into());
            }
        }
        let text = files::read(&file).map_err(|error| named_here(error, &format!("{path}.rhai")))?;
        self.session.borrow_mut().note_input(&file, text.as_bytes());
        let ast = compiled(engine, &name, &text, &self.session)?;
        self.session.borrow_mut().importing.push(name.clone());
        let module = Module::eval_ast_as_new(Scope::new(), &ast, engine);
        self.session.borrow_mut().importing.pop();
        let known = with_own(&self.known, &ast);
        module.map_err(|error| explain(&error, &name, &self.session, &known))
    }
}

impl ModuleResolver for Modules {
    fn resolve(
        &self,
        engine: &Engine,
        source: Option<&str>,
        path: &str,
        pos: Position,
    ) -> Fallible<Rc<Module>> {
        let charged = self.session.borrow_mut().charge(MODULE);
        let module = charged.and_then(|()| self.load(engine, source, path));
        module.map(Rc::new).map_err(|told| {
            let mut error = raise(told);
            error.set_position(pos);
            error
        })
    }
}
