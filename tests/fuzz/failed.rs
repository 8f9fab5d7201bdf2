//! Inputs that once made the program fail, in as few words as they can be told.

pub(crate) const SCRIPTS: &[&str] = &[
    "try { 1.save_chart(\"x\") } catch (e) { throw e.message; }",
    "fn f() { nonesuch(1) } try { f() } catch (e) { throw `${e}`; }",
    "try { nonesuch } catch (e) { throw #{ message: [e, e.code] }; }",
];

pub(crate) const QUANTITIES: &[&str] = &[];

pub(crate) const PLANS: &[&str] = &[];
