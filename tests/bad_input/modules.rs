//! Modules: scripts that others import, inside the project folder only.

use crate::harness::Folder;

#[test]
fn a_sibling_can_be_imported() {
    let f = Folder::new();
    std::fs::create_dir(f.root().join("modules")).unwrap();
    f.put("modules/a.rhai", "import \"b\" as b;\nfn twice(x) { 2 * x }\nexport const N = b::three();\n");
    f.put("modules/b.rhai", "fn three() { 3 }\n");
    assert_eq!(f.takes("import \"modules/a\" as a;\nprint(a::twice(a::N));").trim(), "6");
}

#[test]
fn ways_out_of_the_project_are_refused() {
    let f = Folder::new();
    std::fs::write(f.path("secret.rhai"), "fn f() { 1 }").unwrap();
    let outside = "inside the project folder";
    for name in ["../secret", "/etc/passwd", "setups/../../secret", "..", "", "."] {
        f.refuses(&format!("\nimport \"{name}\" as m;"), &["s.rhai:2:8", outside]);
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(f.path("secret.rhai"), f.root().join("link.rhai")).unwrap();
        std::os::unix::fs::symlink(f.path(""), f.root().join("up")).unwrap();
        f.refuses("import \"link\" as m;", &["s.rhai:1:8", outside]);
        f.refuses("import \"up/secret\" as m;", &["s.rhai:1:8", outside]);
    }
}

#[test]
fn a_missing_module_is_told_of_at_the_import() {
    let f = Folder::new();
    f.put("gusts.rhai", "fn f() { 1 }");
    f.refuses(
        "\nimport \"gust\" as m;",
        &["s.rhai:2:8", "no such file", "gust.rhai", "did you mean `gusts.rhai`?"],
    );
    f.refuses("import \"setups\" as m;", &["s.rhai:1:8", "no such file"]);
    f.refuses("import \"gusts\" as m;\nm::g();", &["s.rhai:2:4", "no function m::g"]);
}

#[test]
fn errors_are_shown_in_the_module_they_stand_in() {
    let f = Folder::new();
    let broken = |module: &str, call: &str, words: &[&str]| {
        f.put("m.rhai", module).refuses(&format!("import \"m\" as m;\n{call}"), words);
    };
    broken("fn f() {\n let x = ;\n}", "", &["m.rhai:2:10"]);
    broken("let a = 1;\n\nlet b = nosuch();", "", &["m.rhai:3:9", "no function nosuch"]);
    broken("// top\nfn f() { 1 / 0 }", "m::f();", &["m.rhai:2:12", "division by zero"]);
    broken("fn f() {\n g() }\nfn g() {\n 7 / 2 }", "m::f();", &["m.rhai:4:4", "7 / 2"]);
    broken("fn f() {\n setup(\"none.yaml\") }", "m::f();", &["m.rhai:2:2", "none.yaml", "no such file"]);
    broken(
        "fn f(c) {\n\n c.change(\"batery.mass\", 1) }",
        "m::f(setup(\"setups/demo_tub.yaml\"));",
        &["m.rhai:3:", "batery"],
    );
    broken("loop { }", "", &["m.rhai:1:", "does not come to an end"]);
    f.put("m.rhai", b"//\n\xff").refuses("import \"m\" as m;", &["m.rhai:2:1", "UTF-8"]);
    f.put("m.rhai", "//".repeat(200_000)).refuses("import \"m\" as m;", &["s.rhai:1:8", "m.rhai", "256 KiB"]);
}

#[test]
fn modules_that_import_each_other_are_refused() {
    let f = Folder::new();
    f.put("a.rhai", "import \"b\" as b;").put("b.rhai", "\nimport \"a\" as a;");
    f.refuses("import \"a\" as a;", &["b.rhai:2:8", "import each other", "a.rhai → b.rhai → a.rhai"]);
    f.put("a.rhai", "import \"a\" as a;").refuses("import \"a\" as a;", &["a.rhai:1:8", "a.rhai → a.rhai"]);
    f.refuses("import \"s\" as s;", &["s.rhai:1:8", "s.rhai → s.rhai"]);
    f.put("a.rhai", "fn f() { 1 }").refuses("loop { import \"a\" as a; }", &["s.rhai:1:"]);
}
