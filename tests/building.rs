//! Recipes built by their name, with options that no script wrote.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{Limits, Outcome, Session, domain};

const POST: &str = "//! A post.\nexport const parameters = #{\n    courses: #{ usual: 4, meaning: \"Courses.\" },\n};\nfn build(options) {\n    let o = settings(options, global::parameters);\n    plan(\"post\", #{ unit: \"uk\" }).place(\"post\", pier(#{ outside: [1, 1], courses: o.courses }))\n}\n";

fn with_session<T: Send>(work: impl FnOnce(&mut Session) -> T + Send) -> T {
    perpend::shell::run_on_large_stack(|| {
        let world = MemoryOutside::new()
            .with_recipes("mine")
            .with_script("mine/post.rhai", POST)
            .with_script("mine/raised_bed.rhai", POST)
            .with_script("mine/sizes.rhai", "export const WIDE = 3;")
            .with_script("mine/broken.rhai", "fn build(options) { (")
            .with_script(
                "mine/ring.rhai",
                "import \"ring\" as ring; export const parameters = #{}; fn build(o) { 1 }",
            )
            .with_script("elsewhere/post.rhai", POST);
        work(&mut domain::open(Rc::new(world), Limits::default()))
    })
    .expect("a thread")
}

/// What a build shows, or what is wrong with it.
fn built(session: &mut Session, recipe: &str, texts: &[&str]) -> String {
    let texts: Vec<String> = texts.iter().map(|text| (*text).to_owned()).collect();
    let options = match session.given_options("--set", &texts) {
        Ok(options) => options,
        Err(outcome) => return session.render(&outcome),
    };
    let outcome = session.build_given("--set", recipe, options);
    told(session, &outcome)
}

fn told(session: &Session, outcome: &Outcome) -> String {
    match &outcome.value {
        Some(value) => session.show(value).lines().next().unwrap_or("").to_owned(),
        None => session.render(outcome),
    }
}

#[test]
fn recipes_are_built_by_name_or_path_and_own_ones_come_first() {
    with_session(|session| {
        let post = "plan \"post\": UK 215 × 102.5 × 65 mm, solid in stretcher bond, head joints 10 mm, courses rise 75 mm";
        assert_eq!(built(session, "post", &["courses=6"]), post);
        assert_eq!(built(session, "raised_bed", &[]), post);
        assert_eq!(built(session, "elsewhere/post.rhai", &[]), post);
        assert!(
            built(session, "garden_wall", &["unit=us_modular"]).starts_with("plan \"garden wall\"")
        );
        let outcome = session.build("post", rhai::Map::new());
        assert_eq!(told(session, &outcome), post);
        assert!(outcome.shown.is_none());
    });
}

#[test]
fn what_is_wrong_points_into_the_option_that_was_given() {
    with_session(|session| {
        assert_eq!(
            built(session, "post", &["courses=nf"]),
            "error[wrong-type]: the recipe's `courses` wants a whole number, but got the text \"nf\"\n --> --set:1:9\n  |\n1 | courses=nf\n  |         ^^\n  |\n  = write it like its usual value, 4\n  : in function `build`"
        );
        assert_eq!(
            built(session, "post", &["courses=4", "cources=5"]),
            "error[unknown-option]: the recipe has no option `cources`\n --> --set:2:1\n  |\n2 | cources=5\n  | ^^^^^^^\n  |\n  = did you mean `courses`?  Options: courses\n  : in function `build`"
        );
        assert_eq!(
            built(session, "post", &["courses=4 mmm", "x", "courses=3"]),
            "error[unreadable-quantity]: `4 mmm` is not a length: `mmm` is not a unit of length\n --> --set:1:9\n  |\n1 | courses=4 mmm\n  |         ^^^^^\n  |\n  = use mm, cm, m, inch, ft or yd\n\nerror[unreadable-option]: this sets nothing\n --> --set:2:1\n  |\n2 | x\n  | ^\n  |\n  = write the option and its value: courses=4"
        );
        assert!(
            built(session, "post", &["courses=4", "courses=3"])
                .starts_with("error[set-twice]: `courses` is set twice\n --> --set:2:1\n")
        );
        // What only laying finds points into the recipe, with the call that led there.
        let deep = built(session, "post", &["courses=-3"]);
        assert!(deep.contains("--> mine/post.rhai:7:"), "{deep}");
        assert!(deep.ends_with("\n  : in function `build`"), "{deep}");
        // Without texts there is nowhere to point but the recipe.
        let mut wrong = rhai::Map::new();
        wrong.insert("courses".into(), "nf".into());
        let outcome = session.build("post", wrong);
        let told = told(session, &outcome);
        assert!(told.contains("--> mine/post.rhai:6:"), "{told}");
    });
}

#[test]
fn what_is_no_recipe_is_told_apart() {
    with_session(|session| {
        for (recipe, says) in [
            (
                "pst",
                "error[unknown-module]: there is no module \"pst\"\n  = did you mean \"post\"?",
            ),
            ("../post", "error[file-trouble]"),
            (
                "nowhere/post.rhai",
                "error[file-trouble]: cannot read `nowhere/post.rhai`: there is no such file",
            ),
            (
                "sizes",
                "error[no-recipe]: `sizes` is a module, but no recipe\n  = a recipe has `fn build(options) { ... }`",
            ),
            ("broken", "error[incomplete]"),
            ("ring", "error[import-circle]"),
        ] {
            let told = built(session, recipe, &[]);
            assert!(told.starts_with(says), "{recipe}: {told}");
        }
    });
}

#[test]
fn a_plan_is_kept_as_a_recipe_and_built_again() {
    with_session(|session| {
        let mut shown = |text: &str| {
            let outcome = session.input(text);
            match &outcome.shown {
                Some(shown) if !outcome.failed() => shown.clone(),
                _ => session.render(&outcome),
            }
        };
        shown("const MARGIN = 100.mm; // round it");
        shown("let courses = 4; let joint = 10.mm; show(courses)");
        shown("fn post(n) { pier(#{ outside: [1, 1], courses: n }) }");
        shown("let p = plan(\"stand\", #{ unit: \"uk\", joint: joint });");
        shown("p = p.place(\"post\", post(courses)); p.height()");
        shown("p = p.slab(#{ margin: MARGIN, depth: 100.mm })");
        assert_eq!(
            shown(
                "save_recipe(\"stand\", \"p\", [\"courses\", \"joint\"], #{ about: \"A stand.\" })"
            ),
            "mine/stand.rhai"
        );
        assert_eq!(
            shown("import \"stand\" as stand; stand::build(#{ courses: 8 }).height()"),
            "600 mm (about 1' 11 5/8\")"
        );
        assert_eq!(
            shown("import \"stand\" as stand; stand::build(#{ joint: 12.mm }).height()"),
            "308 mm (about 1' 0 1/8\")"
        );
        // Four courses of NF at its own gauge, twelve to a metre (DIN 4172).
        assert_eq!(
            shown("import \"stand\" as stand; stand::build(#{ unit: \"nf\" }).height()"),
            "333.333333 mm (about 1' 1 1/8\")"
        );
        let again = shown("save_recipe(\"stand\", \"p\")");
        assert!(again.starts_with(
            "error[recipe-exists]: there is a recipe \"stand\" already, version 1\n  = give it another name, or replace it as version 2"
        ), "{again}");
        shown("courses = 5;");
        assert_eq!(
            shown("save_recipe(\"stand\", \"p\", [\"courses\"], #{ over: true })"),
            "mine/stand.rhai"
        );
        assert!(shown("save_recipe(\"../x\", \"p\")").starts_with("error[wrong-name]"));
        assert!(shown("save_recipe(\"x\", \"q\")").starts_with("error[not-a-plan]"));
        assert!(shown("save_recipe(\"x\", \"p\", [\"unit\"])").starts_with("error[unknown-name]"));
        let found = session.recipe("stand").expect("the recipe that was saved");
        assert_eq!((found.version, found.language), (Some(2), 1));
        // The unit and the joint of every recipe, beside what was named.
        let names: Vec<&str> = found
            .parameters
            .iter()
            .map(|one| one.name.as_str())
            .collect();
        assert_eq!(names, ["courses", "joint", "unit"]);
        assert_eq!(found.parameters[0].usual, "5");
    });
}

#[test]
fn a_recipe_for_a_newer_language_and_two_imports_of_one_name_are_refused() {
    let told = perpend::shell::run_on_large_stack(|| {
        let world = MemoryOutside::new().with_recipes("mine").with_script(
            "mine/later.rhai",
            "export const about = #{ version: 3, language: 9 };\nexport const parameters = #{}; fn build(o) { weave o }",
        );
        let mut session = domain::open(Rc::new(world), Limits::default());
        let later = session.build("later", rhai::Map::new());
        let twice = session.run(
            "two.rhai",
            "import \"raised_bed\" as bed; import \"garden_wall\" as bed; 1",
        );
        [session.render(&later), session.render(&twice)]
    })
    .expect("a thread");
    assert_eq!(
        told[0],
        "error[newer-language]: `mine/later.rhai` is written for version 9 of the language; this program knows up to 1\n  = use a newer perpend, or an older version of the recipe"
    );
    assert!(
        told[1].starts_with(
            "error[import-clash]: `bed` already names another module\n --> two.rhai:1:53\n"
        ),
        "{}",
        told[1]
    );
}

#[test]
fn built_in_recipes_are_made_of_built_in_blocks_whatever_own_ones_are_called() {
    let told = perpend::shell::run_on_large_stack(|| {
        let world = MemoryOutside::new()
            .with_recipes("mine")
            .with_script("mine/door.rhai", POST)
            .with_script("mine/lid.rhai", POST);
        let mut session = domain::open(Rc::new(world), Limits::default());
        let outcome = session.build("curing_cabinet", rhai::Map::new());
        told(&session, &outcome)
    })
    .expect("a thread");
    assert!(told.starts_with("plan \"curing cabinet\""), "{told}");
}

#[test]
fn nothing_is_taken_where_a_parameter_says_so() {
    with_session(|session| {
        let bare = built(session, "garden_wall", &["gate=()"]);
        assert!(bare.starts_with("plan \"garden wall\""), "{bare}");
        let wrong = built(session, "garden_wall", &["courses=()"]);
        assert!(wrong.starts_with("error[wrong-type]"), "{wrong}");
    });
}
