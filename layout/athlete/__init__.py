"""What one athlete can do: form, approach, speed carried through contacts, best split."""
