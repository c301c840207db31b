"""The client's page of a sheet: what stands in each set's form, and what is read out of it again."""
