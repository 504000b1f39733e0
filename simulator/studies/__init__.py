"""DECIDE: studies re-run a case in other ways; each makes new runs and never changes one."""
