//! Checks against things from outside: published tables, worked examples, independent solvers.

mod reference {
    mod friction;
    mod laterals;
    mod networks;
    mod public_solver;
    mod supply;
}
