"""What is doubtful about a plan that can be read: told in the office, before anyone drives out."""
