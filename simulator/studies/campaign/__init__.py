"""Many runs by one plan: dwellings × preparations × layouts or rules × numbers, kept as they come.

``plan.py`` reads the plan and lists its jobs; ``job.py`` does one of them and returns its row;
``store.py`` keeps rows so that nothing done is done again; ``executors.py`` spreads jobs over
processes or a cluster; ``table.py`` writes them; ``league.py`` and ``fit.py`` say what they mean.
"""
