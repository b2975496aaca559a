namespace CashEvents.EmbeddedPostgres;

/// <summary>
/// Who runs the server. PostgreSQL refuses root, so a program started as root hands it to an unprivileged user.
/// </summary>
/// <param name="Name">The user to drop to; null when the program's own user runs the server.</param>
internal sealed record ServerUser(string? Name)
{
    /// <exception cref="PrivatePostgresException">The program runs as root and finds no user to drop to.</exception>
    public static async Task<ServerUser> ChooseAsync(string clusterFolder, CancellationToken cancellationToken)
    {
        if (OperatingSystem.IsWindows() || !Environment.IsPrivilegedProcess)
            return new ServerUser(Name: null);

        // PostgreSQL wants the cluster's owner. "ls" prints it the same way on every Unix.
        if (Directory.Exists(clusterFolder))
        {
            var listed = await new Command("ls", "-ld", clusterFolder).RunAsync(cancellationToken)
                .ConfigureAwait(false);
            var owner = listed.Output.Split(' ', StringSplitOptions.RemoveEmptyEntries).ElementAtOrDefault(2);
            if (listed.Succeeded && owner is not (null or "root"))
                return new ServerUser(owner);
        }

        foreach (var name in (string[])["postgres", "_postgres", "nobody"])
        {
            var known = await new Command("id", "-u", name).RunAsync(cancellationToken).ConfigureAwait(false);
            if (known.Succeeded)
                return new ServerUser(name);
        }

        throw new PrivatePostgresException("PostgreSQL can't be run by root, and this machine has neither a user "
            + "postgres nor a user nobody to run it. Start this program as another user.");
    }

    /// <summary>Gives a folder to the server's user.</summary>
    /// <exception cref="PrivatePostgresException">The system refuses.</exception>
    public async Task OwnAsync(string folder, CancellationToken cancellationToken)
    {
        if (Name is null)
            return;

        var result = await new Command("chown", "-h", Name + ":", folder).RunAsync(cancellationToken)
            .ConfigureAwait(false);
        if (!result.Succeeded)
            throw new PrivatePostgresException($"The folder {folder} can't be given to the user {Name}, who runs "
                + $"PostgreSQL: {result.Output}");
    }

    /// <summary>
    /// Makes a folder one of the group of the server's user, whose modes then say whether that user gets in.
    /// </summary>
    /// <exception cref="IOException">The system refuses.</exception>
    public async Task LetGroupInAsync(string folder, CancellationToken cancellationToken)
    {
        if (Name is null)
            return;

        var group = await new Command("id", "-g", Name).RunAsync(cancellationToken).ConfigureAwait(false);
        var result = await new Command("chgrp", "-h", group.Output, folder).RunAsync(cancellationToken)
            .ConfigureAwait(false);
        if (!result.Succeeded)
            throw new IOException($"The folder {folder} can't be given to the group of the user {Name}, who runs "
                + $"PostgreSQL: {result.Output}");
    }

    /// <summary>Makes sure that the server's user gets into a folder.</summary>
    /// <exception cref="PrivatePostgresException">A folder on the way is closed to that user; the message names it and
    /// the mend.</exception>
    public async Task ReachAsync(string folder, PrivatePostgresOptions options,
        CancellationToken cancellationToken)
    {
        if (Name is null || await CanEnterAsync(folder, cancellationToken).ConfigureAwait(false))
            return;

        var closed = folder;
        for (var above = Path.GetDirectoryName(folder); above is not null; above = Path.GetDirectoryName(above))
        {
            if (!await CanEnterAsync(above, cancellationToken).ConfigureAwait(false))
                closed = above;
        }

        throw new PrivatePostgresException($"PostgreSQL can't be run by root, and the user {Name}, who runs it "
            + $"instead, can't enter the folder {closed} on the way to {folder}. Open it with "
            + $"\"chmod o+x {closed}\", or {options.ChooseFolder} a folder outside it, such as "
            + $"{DataFolder.Default(options.Name)}.");
    }

    private async Task<bool> CanEnterAsync(string folder, CancellationToken cancellationToken)
    {
        var command = new Command("/bin/sh", "-c", "cd \"$1\"", "sh", folder) { User = Name, WorkingFolder = "/" };
        return (await command.RunAsync(cancellationToken).ConfigureAwait(false)).Succeeded;
    }
}
