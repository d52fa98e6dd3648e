"""What a letter is made of: words and what they may mean, tokens, lines and clauses."""
