"""One inspection from the first tap to the answer; the check before use and the inspection in detail share it."""
