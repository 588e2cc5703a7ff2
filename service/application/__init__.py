"""What people can ask for; every door calls only this."""
