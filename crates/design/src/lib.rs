//! Decides the wiring of a plan: switches, ports, routes, addresses, groups.
