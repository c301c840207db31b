"""Forms about clients, their health and their places."""
