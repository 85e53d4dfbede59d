"""One job from the entries of several laptops: which of them count, in which order, and what each of them knew."""
