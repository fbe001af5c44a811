//! Calling back into a script, from within it or after it has ended.

use rhai::{AST, Dynamic, Engine, EvalAltResult, FnPtr, FuncArgs, NativeCallContext};

/// Whoever can call a script's functions.
#[derive(Clone, Copy)]
pub(super) enum Caller<'a> {
    /// The script is running and has called us.
    Within(&'a NativeCallContext<'a>),
    /// The script has ended, its functions are still there.
    After(&'a Engine, &'a AST),
}

impl Caller<'_> {
    /// Calls a function of the script.
    pub fn call(&self, function: &FnPtr, arguments: impl FuncArgs) -> Result<Dynamic, Box<EvalAltResult>> {
        match self {
            Caller::Within(context) => function.call_within_context(context, arguments),
            Caller::After(engine, ast) => function.call(engine, ast, arguments),
        }
    }
}
