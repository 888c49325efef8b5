-- What is deleted is overwritten with zeros from here on.
pragma secure_delete = on;
