using System.Text;
using System.Text.Json;

namespace CashEvents.Cash.Writing;

/// <summary>
/// The movements that wait to be sent: a file to which lines are only added, each on the disk before the program goes
/// on. While one program has it open, another waits for it. A program that is killed leaves what it had written; a line
/// that was torn is passed over. Once nothing waits any more, the file is emptied.
/// </summary>
internal sealed class Waiting : IDisposable
{
    private const int OpensPerSecond = 20;
    private const int Patience = 60 * OpensPerSecond;

    private readonly FileStream _file;
    private readonly List<WaitingMovement> _movements;
    private int _last;

    private Waiting(FileStream file)
    {
        _file = file;
        _movements = [];
        foreach (var note in ReadNotes())
            Follow(note);
    }

    /// <summary>What waits or was refused, in the order in which it was typed.</summary>
    public IReadOnlyList<WaitingMovement> Movements => _movements;

    /// <summary>Opens the list, once no other program has it open.</summary>
    /// <exception cref="NotDoneException">Another program keeps it for a minute.</exception>
    public static async Task<Waiting> OpenAsync(Surroundings around, CancellationToken stop)
    {
        var path = FileOf(around);
        PrivateFile.MakeFolder(path);
        for (var tries = 1; ; tries++)
        {
            try
            {
                return new Waiting(PrivateFile.Open(path, FileMode.OpenOrCreate));
            }
            catch (IOException) when (tries < Patience && File.Exists(path))
            {
                await Task.Delay(1000 / OpensPerSecond, stop).ConfigureAwait(false);
            }
            catch (IOException held) when (File.Exists(path))
            {
                throw new NotDoneException(ExitCode.Unreachable, $"Another cash is at work with {path}: {held.Message} "
                    + "Nothing was recorded. Try again.");
            }
        }
    }

    /// <summary>Whether anything is on the list, without waiting for who has it open.</summary>
    public static bool IsEmpty(Surroundings around) =>
        new FileInfo(FileOf(around)) is not { Exists: true, Length: > 0 };

    /// <summary>Puts a movement at the end.</summary>
    public WaitingMovement Add(Movement movement, string idempotencyKey, DateTimeOffset at, Connection connection)
    {
        var added = new WaitingMovement(_last + 1, idempotencyKey, movement, at, connection.Address.ToString(),
            connection.KeyMark);
        Write(new Note { Waits = added });
        return added;
    }

    /// <summary>It is in the book now, or nobody wants it any more.</summary>
    public void Remove(WaitingMovement movement) => Write(new Note { Done = movement.Number });

    /// <summary>The book refused it: it stays, with the reason.</summary>
    public void Refuse(WaitingMovement movement, string reason) =>
        Write(new Note { Refused = movement.Number, Reason = reason });

    public void Dispose()
    {
        if (_movements.Count == 0 && _file.Length > 0)
        {
            _file.SetLength(0);
            _file.Flush(flushToDisk: true);
        }

        _file.Dispose();
    }

    private static string FileOf(Surroundings around) => Path.Combine(around.StateFolder, "waiting.jsonl");

    private void Write(Note note)
    {
        _file.Seek(0, SeekOrigin.End);
        _file.Write([.. JsonSerializer.SerializeToUtf8Bytes(note, JsonSerializerOptions.Web), (byte)'\n']);
        _file.Flush(flushToDisk: true);
        Follow(note);
    }

    private void Follow(Note note)
    {
        if (note.Waits is { } added)
        {
            _last = added.Number;
            _movements.Add(added);
        }

        _movements.RemoveAll(movement => movement.Number == note.Done);
        if (_movements.FindIndex(movement => movement.Number == note.Refused) is >= 0 and var at)
            _movements[at] = _movements[at] with { Refused = note.Reason };
    }

    // What a kill or a power cut left of a last line was never acknowledged: it goes.
    private List<Note> ReadNotes()
    {
        var bytes = new byte[_file.Length];
        _file.ReadExactly(bytes);
        var whole = Array.LastIndexOf(bytes, (byte)'\n') + 1;
        _file.SetLength(whole);
        return
        [
            .. Encoding.UTF8.GetString(bytes, 0, whole).Split('\n', StringSplitOptions.RemoveEmptyEntries)
                .Select(Read),
        ];
    }

    private Note Read(string line)
    {
        try
        {
            return JsonSerializer.Deserialize<Note>(line, JsonSerializerOptions.Web)!;
        }
        catch (JsonException)
        {
            _file.Dispose();
            throw new NotDoneException(ExitCode.Machine, $"{_file.Name} was changed and can't be read. Nothing was "
                + "sent. Put the file aside, and record what stands in it anew.");
        }
    }

    private sealed record Note
    {
        public WaitingMovement? Waits { get; init; }

        public int? Done { get; init; }

        public int? Refused { get; init; }

        public string? Reason { get; init; }
    }
}
