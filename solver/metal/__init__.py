"""Metal that current drives a voltage along: impedances, network, drop."""
