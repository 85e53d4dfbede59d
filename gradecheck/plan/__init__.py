"""The grade plan: the job file, what it means, and the target of every point at every stage."""
