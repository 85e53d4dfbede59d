"""What is known of a job: the entries folded over the plan, and what can be asked of them."""
