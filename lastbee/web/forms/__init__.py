"""Forms, declared: what each kind of entry asks for, and how a post becomes its body."""
