"""What coaches do: one function a verb, each one transaction and one journal entry."""
