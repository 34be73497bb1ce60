//! Lengths, media, power over Ethernet, optical budgets and feeds.
