"""A whole invented job for practice: record, climate log and plan, with a fault laid in."""
