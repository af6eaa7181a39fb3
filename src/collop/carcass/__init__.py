"""What an animal is made of: cuts, cutting styles, yields, cutting tests, weight balance."""
