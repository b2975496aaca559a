using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace CashEvents.Page.Books;

// What goes between the phone and the server.
public sealed partial class Phone
{
    private const int MostTogether = 50;

    // A server that was busy, or out of reach for a moment, may tell of nothing more by itself.
    private static readonly TimeSpan _pause = TimeSpan.FromSeconds(5);

    private readonly SemaphoreSlim _looking = new(1);
    private readonly SemaphoreSlim _sending = new(1);
    private bool _asksAgain;

    /// <summary>
    /// Reads what only the server works out. It is kept, so that it can be read where the server does not answer.
    /// </summary>
    public async Task<Asked> ReadAsync(string address)
    {
        var said = await server.GetAsync(address);
        if (said.IsDone)
        {
            var told = said.Json;
            await browser.WriteAsync(new Kept("shown", address,
                new JsonObject { ["at"] = Now.ToString("O"), ["told"] = told.DeepClone() }.ToJsonString()));
            return new Asked(told);
        }

        return said.IsForLater && await browser.FindAsync("shown", address) is { } kept
            && JsonNode.Parse(kept) is { } known
            ? new Asked(known["told"], DateTimeOffset.Parse((string)known["at"]!, CultureInfo.InvariantCulture))
            : new Asked(null, Refused: said.Status == 0 ? new Problem { Code = "nobody-answers" } : said.Problem);
    }

    /// <summary>
    /// Asks the server for what it works out from what is sent, or has it write what only it can decide. It is done
    /// when the copy has it too.
    /// </summary>
    public async Task<Asked> AskAsync(string address, JsonNode? body, HttpMethod? method = null, string? key = null)
    {
        var said = await server.SendAsync(address, body, key, method);
        if (!said.IsDone)
        {
            return new Asked(null, Refused: said.Status == 0 ? new Problem { Code = "nobody-answers" } : said.Problem);
        }

        if (key is not null)
        {
            await LookAsync();
        }

        return new Asked(said.Text.Length > 0 ? said.Json : null);
    }

    /// <summary>What is kept on this phone alone; null for nothing.</summary>
    public ValueTask<string?> FindAsync(string what) => browser.FindAsync("shown", what);

    /// <summary>Keeps something on this phone alone, such as what is ticked off.</summary>
    public ValueTask KeepAsync(string what, string value) => browser.WriteAsync(new Kept("shown", what, value));

    /// <summary>A key by which what is asked for is written once.</summary>
    public static string NewKey() => Guid.NewGuid().ToString("N");

    /// <summary>Asks for what was written since.</summary>
    public async Task LookAsync()
    {
        await _looking.WaitAsync();
        try
        {
            // A copy that is long in the year no more has the month that is shown.
            var isOld = _copy is { } copy && (_keptBeside >= MostKeptBeside || copy.From.Day.AddMonths(3) <= Today);
            var said = await server.GetAsync(_copy is null || isOld || _copy.Hash is null ? "api/copy"
                : string.Create(CultureInfo.InvariantCulture,
                    $"api/copy?after={_copy.Book.Line}&hash={_copy.Hash}"));
            if (said.IsDone)
            {
                try
                {
                    var told = Read(said.Text);
                    await AloneAsync(() => TakeAsync(told, said.Text));
                }
                catch (JsonException)
                {
                    // A newer program tells it in a form of its own: its page reads it, and is loaded once it is here.
                    Standing = _copy is null ? Standing.SignedOut : Standing.Away;
                    await browser.LoadNewerAsync();
                }
            }
            else
            {
                Standing = said.IsSignedOut ? _copy is null ? Standing.SignedOut : Standing.ShutOut
                    : _copy is null && !said.IsForLater ? Standing.SignedOut : Standing.Away;
                if (said.IsForLater)
                {
                    _ = AskAgainAsync();
                }
            }
        }
        finally
        {
            _looking.Release();
        }

        Changed?.Invoke();
    }

    private async Task AskAgainAsync()
    {
        if (_asksAgain)
        {
            return;
        }

        _asksAgain = true;
        await Task.Delay(_pause, clock);
        _asksAgain = false;
        await LookAsync();
        await SendAsync();
    }

    private async Task TakeAsync(Fetched told, string text)
    {
        if (told.Copy is null && _copy is null)
        {
            // Another window signed out meanwhile.
            return;
        }

        var holder = new Holder(told.Household, told.Name, told.Role, told.Now, clock.GetUtcNow() - told.Now)
        { ReadBy = Holder.Build };
        var isNew = told.Copy is not null;
        // Another tells what another window fetched too: what is here already is not put on twice.
        var since = isNew ? [] : told.Lines!.Where(line => line.Number > _copy!.Book.Line).ToList();
        var next = told.Copy is { } copy ? copy : since.Count > 0 ? _copy!.With(since, told.Hash) : _copy!;
        var confirmed = _pencil.Where(p => StandsIn(next, p)).ToList();
        var changes = new List<Kept> { new("book", HolderKey, JsonSerializer.Serialize(holder, _kept)) };
        if (isNew)
        {
            changes.InsertRange(0, [new Kept("book", null, null), new Kept("book", CopyKey, text)]);
            _keptBeside = 0;
        }
        else if (since.Count > 0)
        {
            changes.Add(new Kept("book", FormattableString.Invariant($"since-{told.Line:D10}"), text));
            _keptBeside++;
        }

        if (isNew || since.Count > 0 || confirmed.Count > 0 || Standing != Standing.Agreed)
        {
            await browser.WriteAsync([.. changes, .. confirmed.Select(Forget)]);
        }

        _pencil = [.. _pencil.Except(confirmed)];
        (_copy, Holder, Standing) = (next, holder, Standing.Agreed);
        Draw();
    }

    /// <summary>Sends what waits, in the order in which it was written, until all is sent or nobody answers.</summary>
    public async Task SendAsync()
    {
        if (!await _sending.WaitAsync(0))
        {
            return;
        }

        try
        {
            // Only where the server just answered: what was never sent can be taken back.
            if (Unsent().Count > 0)
            {
                await LookAsync();
            }

            while (Standing == Standing.Agreed && Unsent() is [var first, ..] unsent)
            {
                var together = first.GoesInBatches
                    ? unsent.TakeWhile(p => p.GoesInBatches).Take(MostTogether).ToList() : [first];
                // From now on it may stand in the book.
                await ChangeAsync([.. together.Select(p => p with { Tried = true })]);
                if (!await SendAsync(together))
                {
                    break;
                }
            }
        }
        finally
        {
            _sending.Release();
        }

        if (_pencil.Exists(p => p.Lines is not null))
        {
            await LookAsync();
        }

        Changed?.Invoke();
    }

    private List<Pencilled> Unsent() => Holder is null ? []
        : [.. _pencil.Where(p => p.Lines is null && p.CameBack is null && p.Household == Holder.Household)];

    /// <returns>Whether an answer came for each.</returns>
    private async Task<bool> SendAsync(List<Pencilled> together)
    {
        if (together is [var one])
        {
            return await SendAsync(one);
        }

        var said = await server.SendAsync("api/batches", new JsonObject
        {
            ["mode"] = "eachOnItsOwn",
            ["movements"] = new JsonArray([.. together.Select(p => p.Request(inBatch: true))]),
        });
        if (said.IsDone)
        {
            var answers = said.Json["answers"]!.AsArray();
            await ChangeAsync([.. together.Select((p, i) =>
                answers[i]!["problem"] is { } problem ? Returned(p, Said.ProblemIn(problem.ToJsonString()))
                    : Entered(p, answers[i]!["answer"]!))]);
            return true;
        }

        if (said.IsForLater || said.IsSignedOut)
        {
            return NotNow(said);
        }

        // One of them is not in order, so that none of them was looked at.
        foreach (var each in together)
        {
            if (!await SendAsync(each))
            {
                return false;
            }
        }

        return true;
    }

    private async Task<bool> SendAsync(Pencilled one)
    {
        var said = await server.SendAsync(one.Address, one.Request(inBatch: false), one.Id);
        if (said.IsForLater || said.IsSignedOut)
        {
            return NotNow(said);
        }

        await ChangeAsync([said.IsDone ? Entered(one, said.Json) : Returned(one, said.Problem)]);
        return true;
    }

    private bool NotNow(Said said)
    {
        Standing = said.IsSignedOut ? Standing.ShutOut : said.Status == 0 ? Standing.Away : Standing;
        if (said.IsForLater)
        {
            _ = AskAgainAsync();
        }

        return false;
    }

    private static Pencilled Entered(Pencilled what, JsonNode answer) =>
        what with { Tried = true, Lines = [.. answer["lines"]!.AsArray().Select(line => line!.GetValue<long>())] };

    private static Pencilled Returned(Pencilled what, Problem why) => what with { Tried = true, CameBack = why };

    private Task ChangeAsync(IReadOnlyList<Pencilled> changed) => AloneAsync(async () =>
    {
        // What another window saw in the book and took out meanwhile is not brought back.
        var byId = changed.Where(p => _pencil.Exists(here => here.Id == p.Id)).ToDictionary(p => p.Id);
        if (byId.Count == 0)
        {
            return;
        }

        await browser.WriteAsync(byId.Values.Select(Keep));
        _pencil = [.. _pencil.Select(p => byId.GetValueOrDefault(p.Id, p))];
        Draw();
    });
}
